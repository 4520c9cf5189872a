//! One station as the office sees it: readings, dials, definition, and a change to it.

use winze_core::merge::Standing;
use winze_core::query::{StationDetail, Visit};
use winze_core::record::Source;
use winze_core::slips::parse_entry;
use winze_core::station::{Duty, Gauge, Quantity, Station, Valve};
use winze_core::units::{Typed, decimal_to_f64};
use winze_core::verdict::{FlowState, Judged, Judgement, judge};

use super::gauge;
use super::office_attention::{deviation, noticed};
use super::office_questions::{flow, taker};
use super::office_sum::{difference, sum};
use super::office_time as time;
use super::office_view::{Cell, Fact, ReadingLine, StationPage};
use super::view::Tone;
use super::words;
use crate::messages::{counted, problem_in_words};

/// What the station screen is about.
pub struct Shown<'a> {
    /// The station.
    pub detail: &'a StationDetail,
    /// Its readings, newest first.
    pub visits: &'a [Visit],
    /// The reading on the dials, and the definition it was judged against.
    pub chosen: Option<(&'a Visit, &'a Station)>,
    /// The gauge whose arithmetic is shown; the worst one for `None`.
    pub quantity: Option<Quantity>,
    /// How far local time is ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
}

/// Puts everything but the table of readings and the change.
#[must_use]
pub fn station(shown: &Shown<'_>) -> StationPage {
    let definition = &shown.detail.definition;
    let offset = shown.utc_offset_minutes;
    let entry = shown
        .chosen
        .map(|(visit, _)| visit.entry)
        .unwrap_or_default();
    let against = shown.chosen.map_or(definition, |(_, against)| against);
    let judgement = judge(against, &entry);
    let quantity = shown.quantity.unwrap_or_else(|| worst_gauge(&judgement));
    let gauges = Quantity::ALL.map(|one| {
        let value = entry.get(one);
        let text = value.map_or_else(String::new, |value| value.digits.to_string());
        gauge::gauge(against, &judgement, one, &text, value, false)
    });
    StationPage {
        code: definition.code.as_str().to_owned(),
        name: words::place(definition),
        revision: revision(shown.detail, offset),
        reading_title: shown.chosen.map_or_else(
            || "No reading is here yet; the dials show what to expect.".to_owned(),
            |(visit, _)| reading_title(visit, offset),
        ),
        gauges: gauges.to_vec(),
        chosen_gauge: quantity.index(),
        meaning: match shown.chosen.map(|(visit, _)| noticed(visit)) {
            Some(noticed) if !noticed.is_empty() => {
                format!("{} {noticed}", meaning(against, &judgement, quantity))
            }
            _ => meaning(against, &judgement, quantity),
        },
        readings_title: format!(
            "{} here",
            counted(shown.detail.readings as u64, "reading", "readings")
        ),
        sum_title: sum_title(&judgement, quantity),
        sum: judgement
            .get(quantity)
            .map_or_else(Vec::new, |judged| sum(against, judged)),
        definition: definition_facts(definition),
        problems: problem_facts(shown.detail),
        ..StationPage::default()
    }
}

/// The gauge with the worst verdict; the outlet when all are alike, since it is what is served.
fn worst_gauge(judgement: &Judgement) -> Quantity {
    judgement
        .iter()
        .max_by_key(|judged| judged.verdict)
        .map_or(Quantity::Outlet, |judged| judged.quantity)
}

fn revision(detail: &StationDetail, offset: i16) -> String {
    let made = time::day(detail.revised_ms, offset);
    let by = if detail.revised_by.is_empty() {
        String::new()
    } else {
        format!(" by {}", detail.revised_by)
    };
    let which = match detail.revisions {
        0 | 1 => "Defined".to_owned(),
        many => format!("Definition {many}, made"),
    };
    format!("{which} {made}{by}")
}

fn reading_title(visit: &Visit, offset: i16) -> String {
    let when = time::moment_and_year(visit.taken_ms, offset);
    let taken_over = match visit.source {
        Source::Sheet { .. } if !visit.by.is_empty() => format!(", taken over by {}", visit.by),
        Source::Sheet { .. } | Source::OnTheSpot => String::new(),
    };
    let water = match visit.entry.flow {
        FlowState::NotNoted => "flow not noted".to_owned(),
        noted => format!("water {}", flow(noted)),
    };
    format!("{when}, {}{taken_over}, {water}", taker(visit))
}

/// How the gauge whose arithmetic is shown stands, or that all stand well.
fn meaning(station: &Station, judgement: &Judgement, quantity: Quantity) -> String {
    use winze_core::verdict::Verdict;
    let is_within = |judged: &&Judged| judged.verdict == Verdict::Within;
    let (read, within) = (
        judgement.iter().count(),
        judgement.iter().filter(is_within).count(),
    );
    match judgement.get(quantity) {
        _ if read == 3 && within == 3 => "All three stand where they should.".to_owned(),
        Some(judged) => deviation(station, judged),
        None => String::new(),
    }
}

fn sum_title(judgement: &Judgement, quantity: Quantity) -> String {
    let name = words::gauge_capital(quantity);
    match judgement.get(quantity) {
        Some(judged) => format!("{name}: why it is {}", words::verdict(judged.verdict)),
        None => format!("{name}: not judged"),
    }
}

/// One line of the table of readings.
#[must_use]
pub fn reading(visit: &Visit, offset: i16, is_chosen: bool) -> ReadingLine {
    let cells = Quantity::ALL.map(|quantity| {
        let verdict = visit.shown.get(quantity).map(|shown| shown.verdict);
        Cell {
            value: visit
                .entry
                .get(quantity)
                .map_or_else(String::new, |value| value.digits.to_string()),
            tone: verdict.map_or(Tone::None, Tone::from),
            word: verdict.map_or("not judged", words::verdict).to_owned(),
        }
    });
    let stands = standing(visit);
    let noticed = noticed(visit);
    let corrected = if visit.first_entry.is_some() {
        "corrected"
    } else {
        ""
    };
    let parts = [stands, corrected, noticed.trim_end_matches('.')];
    let remark: Vec<&str> = parts.into_iter().filter(|part| !part.is_empty()).collect();
    ReadingLine {
        id: visit.at.to_string(),
        when: time::moment_and_year(visit.taken_ms, offset),
        who: taker(visit),
        cells: cells.to_vec(),
        remark: if remark.is_empty() {
            String::new()
        } else {
            format!("{} \u{b7} ", remark.join("; "))
        },
        is_chosen,
    }
}

/// How a reading stands, where it does not plainly count.
const fn standing(visit: &Visit) -> &'static str {
    if visit.is_held {
        return "held, not counted";
    }
    match visit.state.standing {
        Standing::Counts => "",
        Standing::Open => "in question",
        Standing::Repeats(_) => "confirms another",
        Standing::SetAside(_) => "set aside",
        Standing::Void(_) => "void",
    }
}

fn gauge_fact(name: &str, gauge: &Gauge) -> Fact {
    let grade = match gauge.grade {
        Some(grade) => format!("grade {}", grade.code()),
        None => format!("class {}", gauge.class),
    };
    let height = match gauge.elevation_mm {
        0 => String::new(),
        mm if mm > 0 => format!(", {mm} mm above the datum"),
        mm => format!(", {} mm below the datum", -i64::from(mm)),
    };
    let checked = gauge.checked_on.map_or_else(String::new, |day| {
        format!(", checked {}", day.format("%-d %b %Y"))
    });
    Fact::new(
        name,
        format!(
            "{} to {}, {grade}, division {}{height}{checked}",
            gauge.low.digits,
            words::typed(gauge.high),
            gauge.division
        ),
    )
}

fn definition_facts(station: &Station) -> Vec<Fact> {
    let (first, second) = (&station.first_stage, &station.second_stage);
    let usual = &station.inlet_usual;
    let mut facts = vec![
        Fact::new(
            "usual inlet",
            format!("{} to {}", usual.low.digits, words::typed(usual.high)),
        ),
        Fact::new(
            "first stage",
            format!(
                "ratio {} \u{b1} {} %",
                first.ratio, first.ratio_tolerance_percent
            ),
        ),
    ];
    if let Some(ratio) = first.as_left_ratio {
        let on = first
            .as_left_on
            .map_or_else(String::new, |day| format!(", {}", day.format("%-d %b %Y")));
        facts.push(Fact::new("ratio as left", format!("{ratio}{on}")));
    }
    facts.extend(body(&first.valve).map(|body| Fact::new("first stage body", body)));
    facts.push(Fact::new(
        "set point",
        format!(
            "{} \u{b1} {}",
            words::typed(second.set_point),
            words::typed(second.band)
        ),
    ));
    facts.push(Fact::new(
        "needs across it",
        format!("at least {}", words::typed(second.minimum_differential)),
    ));
    if let Some((low, high)) = second.spring_range {
        facts.push(Fact::new(
            "pilot spring",
            format!("{} to {}", low.digits, words::typed(high)),
        ));
    }
    facts.extend(body(&second.valve).map(|body| Fact::new("second stage body", body)));
    for quantity in Quantity::ALL {
        let name = format!("{} gauge", words::gauge(quantity));
        facts.push(gauge_fact(&name, station.gauge(quantity)));
    }
    facts.extend(site_facts(station));
    facts
}

/// "DN 50, Kv 20, FL 0.90, sigma at least 1.5": what is known of a valve body.
fn body(valve: &Valve) -> Option<String> {
    let parts: Vec<String> = [
        valve.size_mm.map(|size| format!("DN {size}")),
        valve.rated_kv.map(|kv| format!("Kv {kv} m\u{b3}/h")),
        valve.fl.map(|fl| format!("FL {fl}")),
        valve
            .permitted_sigma
            .map(|sigma| format!("sigma at least {sigma}")),
        valve.xfz.map(|xfz| format!("xFz {xfz}")),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!parts.is_empty()).then(|| parts.join(", "))
}

/// "3 / 8 / 16 m3/h", a dash for what is not known; `None` where nothing is.
fn duty(duty: &Duty) -> Option<String> {
    let flows = [duty.min_m3_h, duty.usual_m3_h, duty.max_m3_h];
    let texts =
        flows.map(|flow| flow.map_or_else(|| "\u{2013}".to_owned(), |flow| flow.to_string()));
    flows
        .iter()
        .any(Option::is_some)
        .then(|| format!("{} m\u{b3}/h", texts.join(" / ")))
}

fn site_facts(station: &Station) -> Vec<Fact> {
    let site = &station.site;
    let mut facts = Vec::new();
    let mut add = |name: &str, value: Option<String>| {
        facts.extend(
            value
                .filter(|value| !value.is_empty())
                .map(|value| Fact::new(name, value)),
        );
    };
    add("flow, least / usual / most", duty(&site.duty));
    add(
        "water temperature",
        site.water_temperature_c.map(|c| format!("{c} \u{b0}C")),
    );
    add(
        "altitude",
        site.altitude_m.map(|metres| format!("{metres} m")),
    );
    add("depth", site.depth_m.map(|metres| format!("{metres} m")));
    add("downstream at most", site.downstream_max.map(words::typed));
    add("relief valve opens at", site.relief_set.map(words::typed));
    add("hazards", Some(site.hazards.clone()));
    add("access", Some(site.access.clone()));
    facts
}

fn problem_facts(detail: &StationDetail) -> Vec<Fact> {
    let mut facts = Vec::new();
    if detail.is_disputed {
        let text = "Definitions disagree, see Questions; the later one is used meanwhile.";
        facts.push(Fact::new("", text).with(Tone::Act));
    }
    let problems = detail.definition.problems();
    facts.extend(problems.iter().map(|problem| {
        Fact::new("", problem_in_words(problem, detail.definition.unit)).with(Tone::Caution)
    }));
    facts
}

/// A change of set point and band as typed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Change {
    /// The set point.
    pub set_point: String,
    /// How far either side of it the outlet may lie.
    pub band: String,
}

impl Change {
    /// The change that changes nothing.
    #[must_use]
    pub fn of(station: &Station) -> Self {
        Self {
            set_point: station.second_stage.set_point.digits.to_string(),
            band: station.second_stage.band.digits.to_string(),
        }
    }

    /// The definition it would make, or why it makes none.
    ///
    /// # Errors
    /// A sentence for the person who typed it.
    pub fn apply(&self, station: &Station) -> Result<Station, String> {
        let second = &station.second_stage;
        let parse = |name: &str, text: &str, unit| {
            parse_entry(text)
                .map(|digits| Typed::new(digits, unit))
                .map_err(|_| format!("The {name} is not a number."))
        };
        let mut changed = station.clone();
        changed.second_stage.set_point =
            parse("set point", &self.set_point, second.set_point.unit)?;
        changed.second_stage.band = parse("allowed difference", &self.band, second.band.unit)?;
        if decimal_to_f64(changed.second_stage.band.digits) <= 0.0 {
            return Err("The outlet must be allowed some difference, however small.".to_owned());
        }
        if let Some(problem) = changed.problems().iter().find(|problem| problem.is_fatal()) {
            return Err(problem_in_words(problem, changed.unit));
        }
        Ok(changed)
    }
}

/// Adds what the change typed would mean.
pub fn put_change(page: &mut StationPage, station: &Station, change: &Change) {
    let second = &station.second_stage;
    second.set_point.unit.symbol().clone_into(&mut page.unit);
    page.change_title = format!(
        "A change makes a new definition of {}. Earlier readings keep the one they were judged against.",
        station.code.as_str()
    );
    let changed = match change.apply(station) {
        Ok(changed) => changed,
        Err(problem) => {
            page.change_problem = problem;
            return;
        }
    };
    page.can_save = changed != *station;
    let new = &changed.second_stage;
    let (low, high) = (
        new.set_point.to_pressure() - new.band.to_pressure(),
        new.set_point.to_pressure() + new.band.to_pressure(),
    );
    let gauge = &changed.outlet;
    let band = format!(
        "{} {}",
        words::band(gauge, low, high),
        gauge.unit().symbol()
    );
    page.change_effect = vec![Fact::new("outlet expected", band)];
    if new.set_point != second.set_point {
        let (from, to) = (second.set_point, new.set_point);
        let change = difference(from.to_pressure(), to.to_pressure(), from.unit);
        page.change_effect
            .push(Fact::new("set point changes by", change));
    }
    let notes = changed.problems();
    page.change_effect.extend(notes.iter().map(|problem| {
        Fact::new("note", problem_in_words(problem, changed.unit)).with(Tone::Caution)
    }));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::presenters::samples;

    fn change(set_point: &str, band: &str) -> Result<Station, String> {
        let change = Change {
            set_point: set_point.to_owned(),
            band: band.to_owned(),
        };
        change.apply(&samples::station())
    }

    #[test]
    fn change_keeps_the_digits_typed_and_the_unit() {
        let changed = change("2.10", "0.2").expect("sound");
        assert_eq!(changed.second_stage.set_point, samples::bar("2.10"));
        assert_eq!(Change::of(&changed).set_point, "2.10");
    }

    #[test]
    fn change_that_makes_no_sense_is_refused_in_words() {
        for (set_point, band) in [
            ("", "0.2"),
            ("2.0", "x"),
            ("2.0", "0"),
            ("2.0", "-0.1"),
            ("9", "0.2"),
        ] {
            let refused = change(set_point, band);
            assert!(
                refused.is_err_and(|why| why.ends_with('.')),
                "{set_point} {band}"
            );
        }
    }

    #[test]
    fn unchanged_definition_is_not_written_again() {
        let station = samples::station();
        let mut page = StationPage::default();
        put_change(&mut page, &station, &Change::of(&station));
        assert!(!page.can_save && page.change_problem.is_empty());
        assert_eq!(page.change_effect.len(), 1);
    }
}
