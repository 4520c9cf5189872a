//! What may be behind a flag, and the one check to do now: the screen of suspects.

use winze_core::suspects::{Advice, Cause, Check, Ranking};

use super::course::Finding;
use super::flag::{self, FlagLine};
use crate::messages::watch;

/// Suspects shown; the rest together have little weight.
const SUSPECTS_MOST: usize = 4;

/// A suspect less probable than this is not shown, unless it was shown before an answer.
const SUSPECT_LEAST: f64 = 0.02;

/// Suspects and the next check.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FindingView {
    /// What was raised.
    pub flag: FlagLine,
    /// Label of the key to the next finding, or empty where there is only one.
    pub more: String,
    /// The suspects, most probable first.
    pub suspects: Vec<SuspectLine>,
    /// What was answered so far, a sentence each.
    pub answered: Vec<String>,
    /// The check to do now.
    pub check: Option<CheckView>,
    /// What stands in the place of a check where there is none.
    pub no_check: String,
    /// Whether another check can be asked for.
    pub has_other: bool,
}

/// One suspect.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SuspectLine {
    /// What it is.
    pub what: String,
    /// How probable, in words.
    pub likelihood: String,
    /// How probable, in per cent.
    pub figure: String,
    /// How probable, 0 to 1, for the bar.
    pub share: f64,
    /// "was 38 %", where an answer changed it.
    pub before: String,
}

/// A check as it is put.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct CheckView {
    /// Its stable code.
    pub code: String,
    /// "Next check, about 2 minutes".
    pub title: String,
    /// What to do.
    pub act: String,
    /// What to look for.
    pub question: String,
    /// On the key for yes.
    pub yes: String,
    /// On the key for no.
    pub no: String,
    /// What to be careful of; empty for a check that opens and moves nothing.
    pub cautions: Vec<String>,
    /// Why it cannot be answered now; empty where it can.
    pub hint: String,
}

/// Shows one finding of `of`; `passed` checks were passed over for now. It can be answered once the
/// reading that raised it is saved.
#[must_use]
pub fn finding(
    finding: &Finding,
    of: usize,
    passed: usize,
    (now_ms, offset): (i64, i16),
) -> FindingView {
    let open = &finding.checks;
    let advice = open.get(passed % open.len().max(1));
    FindingView {
        flag: flag::line(finding, now_ms, offset),
        more: if of > 1 {
            "Next finding here".to_owned()
        } else {
            String::new()
        },
        suspects: suspects(&finding.before, &finding.now),
        answered: finding
            .answered
            .iter()
            .map(|(check, is_yes)| was(*check, *is_yes).to_owned())
            .collect(),
        check: advice.map(|advice| check(advice, finding.reading.is_some())),
        no_check: "No check here would tell more. Report it with the hand-over.".to_owned(),
        has_other: open.len() > 1,
    }
}

const fn was(check: Check, is_yes: bool) -> &'static str {
    let asked = watch::asked(check);
    if is_yes { asked.was_yes } else { asked.was_no }
}

fn suspects(before: &Ranking, now: &Ranking) -> Vec<SuspectLine> {
    let shown = |cause: Cause| now.of(cause) >= SUSPECT_LEAST || before.of(cause) >= 0.1;
    now.in_order()
        .into_iter()
        .filter(|suspect| shown(suspect.cause))
        .take(SUSPECTS_MOST)
        .map(|suspect| {
            let was = before.of(suspect.cause);
            SuspectLine {
                what: watch::cause(suspect.cause).to_owned(),
                likelihood: watch::likelihood(suspect.probability).to_owned(),
                figure: percent(suspect.probability),
                share: suspect.probability,
                before: if percent(was) == percent(suspect.probability) {
                    String::new()
                } else {
                    format!("was {}", percent(was))
                },
            }
        })
        .collect()
}

/// Whole per cent, never rounded to certainty.
fn percent(probability: f64) -> String {
    match probability * 100.0 {
        value if value < 1.0 => "< 1 %".to_owned(),
        value if value > 99.0 => "> 99 %".to_owned(),
        value => format!("{value:.0} %"),
    }
}

fn check(advice: &Advice, can_answer: bool) -> CheckView {
    let asked = watch::asked(advice.check);
    let minutes = format!("{:.0}", advice.minutes);
    let unit = if minutes == "1" { "minute" } else { "minutes" };
    let mut cautions: Vec<String> = Vec::new();
    if !advice.cautions.is_empty() {
        cautions.push(watch::CAUTIONS_DEFER.to_owned());
    }
    cautions.extend(
        advice
            .cautions
            .iter()
            .map(|caution| watch::caution_in_full(*caution).to_owned()),
    );
    CheckView {
        code: advice.check.code().to_owned(),
        title: format!("Next check, about {minutes} {unit}"),
        act: asked.act.to_owned(),
        question: asked.question.to_owned(),
        yes: asked.yes.to_owned(),
        no: asked.no.to_owned(),
        cautions,
        hint: if can_answer {
            String::new()
        } else {
            "Save the reading first; the answer is kept with it.".to_owned()
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::course::samples::drift;
    use winze_core::suspects::next_checks;
    use winze_sync_format::{LogId, RecordId, RecordRef};

    const NOW: (i64, i16) = (1_799_712_000_000, 0);

    #[test]
    fn suspects_stand_in_order_with_words_and_figures() {
        let view = finding(&drift(NOW.0), 1, 0, NOW);
        let said: Vec<_> = view
            .suspects
            .iter()
            .map(|line| (line.figure.as_str(), line.likelihood.as_str()))
            .collect();
        assert_eq!(
            said,
            [
                ("50 %", "may well be"),
                ("30 %", "possible"),
                ("20 %", "possible")
            ]
        );
        assert!(view.suspects.iter().all(|line| line.before.is_empty()));
        assert!(view.more.is_empty() && view.answered.is_empty());
    }

    #[test]
    fn next_check_comes_with_minutes_and_its_answers() {
        let saved = Finding {
            reading: Some(RecordRef {
                log: LogId([1; 32]),
                seq: 7,
                id: RecordId([2; 32]),
            }),
            ..drift(NOW.0)
        };
        let view = finding(&saved, 2, 0, NOW);
        let check = view.check.expect("something tells them apart");
        assert_eq!(check.code, "look-at-screw");
        assert_eq!(check.title, "Next check, about 2 minutes");
        assert_eq!(
            (check.yes.as_str(), check.no.as_str()),
            ("Disturbed", "Untouched")
        );
        assert!(check.cautions.is_empty() && check.hint.is_empty());
        assert!(!view.more.is_empty() && view.has_other);
    }

    #[test]
    fn another_check_brings_its_cautions_and_defers_to_the_site() {
        let all = drift(NOW.0);
        let views = (0..all.checks.len()).map(|passed| finding(&all, 1, passed, NOW));
        let with_test_gauge = views
            .filter_map(|view| view.check)
            .find(|check| check.code == "test-outlet-gauge")
            .expect("a test gauge tells too");
        assert_eq!(with_test_gauge.cautions[0], watch::CAUTIONS_DEFER);
        assert!(with_test_gauge.cautions[1].starts_with("Stored pressure"));
        assert!(
            !with_test_gauge.hint.is_empty(),
            "nothing is saved to answer about"
        );
    }

    #[test]
    fn an_answer_changes_the_figures_and_says_what_they_were() {
        let mut finding_ = drift(NOW.0);
        finding_.now = finding_.before.after(Check::LookAtScrew, true);
        finding_.answered.push((Check::LookAtScrew, true));
        finding_.checks = next_checks(&finding_.now);
        finding_
            .checks
            .retain(|advice| advice.check != Check::LookAtScrew);
        let view = finding(&finding_, 1, 0, NOW);
        assert_eq!(view.suspects[0].what, "the set point was moved");
        assert_eq!(view.suspects[0].before, "was 30 %");
        assert_eq!(view.answered, ["Adjusting screw: disturbed."]);
        assert_ne!(
            view.check.map(|check| check.code).as_deref(),
            Some("look-at-screw")
        );
    }

    #[test]
    fn a_settled_matter_asks_for_no_check() {
        let mut settled = drift(NOW.0);
        let mut ln = [f64::NEG_INFINITY; Cause::COUNT];
        ln[Cause::SetPointMoved.index()] = 0.0;
        settled.now = Ranking::from_ln_weights(&ln);
        settled.checks = next_checks(&settled.now);
        let view = finding(&settled, 1, 3, NOW);
        assert_eq!(view.check, None);
        assert!(!view.has_other && !view.no_check.is_empty());
        assert_eq!(view.suspects[0].figure, "> 99 %");
    }
}
