//! Weighs an entry as typed against everything that may have been meant.

use super::candidates::{ANY_SLIP, Candidate, MISREAD, candidates};
use super::dials::{Dials, Seen};
use super::predict::Model;
use super::score::{ln_best, ln_good, ln_weighted_sum};
use super::stuck::{Same, same_as_ever};
use super::writing::Writing;
use super::{Answered, Doubt, DoubtKind, PastReading};
use crate::station::{Quantity, Station};
use crate::verdict::Entry;

/// An entry is questioned when a slip is at least this probable.
const ASK_FROM: f64 = 0.03;

/// A meant value is offered when it carries at least this share of what all slips weigh.
const OFFER_FROM: f64 = 0.25;

/// The one question worth asking about an entry, or `None`.
///
/// `past` holds earlier visits on the same gauges, oldest first (the last 26 are looked at);
/// `answered` what was already asked of this entry and stands as typed. Values of gauges answered
/// for are taken as true; an answer about several gauges ends the questions.
///
/// # Formula
///
/// ```text
/// P(slip | entry) = sum_c P(c) f(c) / (f(entry) + sum_c P(c) f(c))
/// ```
///
/// where c runs over every entry one slip could have turned into this one, P(c) is the prior
/// probability of that slip, and f is the density of good readings at this station
/// (healthy, or truly changed). What no gauge can show is always questioned.
///
/// # Source
///
/// Bayes' theorem; priors are common practice, no source. See `core/FORMULAS.md`.
#[must_use]
pub fn first_doubt(
    station: &Station,
    past: &[PastReading],
    entry: &Entry,
    answered: &[Answered],
) -> Option<Doubt> {
    if entry.is_empty() {
        return None;
    }
    let dials = Dials::new(station, entry.flow);
    let model = Model::new(station, &dials, past, entry.flow);
    let bench = Bench {
        station,
        dials: &dials,
        model: &model,
        past,
    };
    let about_values = || {
        answered
            .iter()
            .filter(|answer| answer.kind != DoubtKind::SameAsEver)
    };
    let stands =
        |quantity: Quantity| about_values().any(|answer| answer.quantity == Some(quantity));
    let all_stand = about_values().any(|answer| answer.quantity.is_none());
    let doubt = if all_stand {
        None
    } else {
        bench.weigh(entry, stands)
    };
    doubt.or_else(|| {
        let (kind, probability) = (DoubtKind::SameAsEver, 0.99);
        let quantity = match same_as_ever(&bench, entry)? {
            Same::Gauge(quantity) => Some(quantity),
            Same::All => None,
        };
        let asked = answered.contains(&Answered { kind, quantity });
        (!asked).then_some(Doubt {
            kind,
            quantity,
            likely: None,
            second: None,
            probability,
        })
    })
}

/// What an entry is weighed with.
pub(super) struct Bench<'a> {
    pub station: &'a Station,
    pub dials: &'a Dials,
    pub model: &'a Model,
    pub past: &'a [PastReading],
}

/// What may have happened other than a good reading.
struct Weighed {
    kind: DoubtKind,
    quantity: Option<Quantity>,
    meant: Option<Entry>,
    ln: f64,
}

impl Bench<'_> {
    fn weigh(&self, entry: &Entry, stands: impl Fn(Quantity) -> bool) -> Option<Doubt> {
        let (dials, model) = (self.dials, self.model);
        let writing = Writing::new(self.station, self.past);
        let written = writing.ln(entry);
        let seen = dials.seen(entry);
        let good = ln_good(dials, model, &seen) + written;
        let impossible = Quantity::ALL
            .into_iter()
            .filter(|&quantity| !stands(quantity))
            .find_map(|quantity| Some((dials.impossible(&seen, quantity)?, quantity)));
        // Most entries are good: no slip can weigh more than all priors at the best density.
        let best = ln_best(model, &seen, seen.at(Quantity::Inlet)).max(ln_best(model, &seen, None))
            + writing.ln_best(entry).max(written);
        if impossible.is_none() && good - best > (ANY_SLIP / ASK_FROM).ln() {
            return None;
        }

        let untouched = |candidate: &Candidate| match candidate.quantity {
            Some(quantity) => !stands(quantity),
            None => !Quantity::ALL.into_iter().any(&stands),
        };
        let mut weighed: Vec<Weighed> = candidates(self.station, dials, entry, writing.places())
            .into_iter()
            .filter(untouched)
            .map(|candidate| Weighed {
                kind: candidate.kind,
                quantity: candidate.quantity,
                meant: Some(candidate.entry),
                ln: candidate.ln_prior
                    + ln_good(dials, model, &dials.seen(&candidate.entry))
                    + writing.ln(&candidate.entry),
            })
            .collect();
        let read = Quantity::ALL
            .into_iter()
            .filter(|&quantity| seen.at(quantity).is_some());
        weighed.extend(
            read.filter(|&quantity| !stands(quantity))
                .map(|quantity| Weighed {
                    kind: self.unexplained(&seen, quantity),
                    quantity: Some(quantity),
                    meant: None,
                    ln: (MISREAD / 3.0).ln()
                        + dials.ln_uniform(quantity)
                        + ln_good(dials, model, &seen.without(quantity))
                        + written,
                }),
        );
        let terms: Vec<_> = weighed.iter().map(|one| (1.0, one.ln)).collect();
        let slips = ln_weighted_sum(&terms);
        let probability = if slips.is_finite() {
            1.0 / (1.0 + (good - slips).exp())
        } else {
            0.0
        };
        if probability < ASK_FROM && impossible.is_none() {
            return None;
        }
        Some(conclude(weighed, slips, probability, impossible))
    }

    /// What a value far from its past is called when no slip explains it.
    fn unexplained(&self, seen: &Seen, quantity: Quantity) -> DoubtKind {
        let usual = self.model.of(quantity, None).map(|usual| usual.centre);
        match self.dials.impossible(seen, quantity) {
            Some(kind) => kind,
            None if self.dials.above_working_range(seen, quantity, usual) => {
                DoubtKind::AboveWorkingRange
            }
            None => DoubtKind::Jump,
        }
    }
}

/// Names the likeliest explanation and the values probably meant.
fn conclude(
    mut weighed: Vec<Weighed>,
    slips: f64,
    probability: f64,
    impossible: Option<(DoubtKind, Quantity)>,
) -> Doubt {
    weighed.sort_by(|a, b| b.ln.total_cmp(&a.ln));
    // Several slips may lead from the same meant value to this entry: they count together.
    let mut meant: Vec<(Entry, f64)> = Vec::new();
    for one in weighed.iter().take(24) {
        let Some(entry) = one.meant else { continue };
        match meant
            .iter_mut()
            .find(|(other, _)| same_values(other, &entry))
        {
            Some((_, ln)) => *ln = ln_weighted_sum(&[(1.0, *ln), (1.0, one.ln)]),
            None => meant.push((entry, one.ln)),
        }
    }
    meant.sort_by(|a, b| b.1.total_cmp(&a.1));
    let offered = |index: usize| {
        meant
            .get(index)
            .filter(|(_, ln)| (ln - slips).exp() >= OFFER_FROM)
            .map(|(entry, _)| *entry)
    };
    let likely = offered(0);
    let second = offered(1);
    let explained = likely.and_then(|likely| {
        weighed
            .iter()
            .find(|one| one.meant.is_some_and(|meant| same_values(&meant, &likely)))
    });
    let (kind, quantity) = match (explained, impossible, weighed.first()) {
        (None, Some((kind, quantity)), _) => (kind, Some(quantity)),
        (Some(one), ..) | (None, None, Some(one)) => (one.kind, one.quantity),
        (None, None, None) => (DoubtKind::Jump, None),
    };
    Doubt {
        kind,
        quantity,
        likely,
        second,
        probability,
    }
}

/// Whether two entries are the same pressures to a tenth of a per cent.
fn same_values(a: &Entry, b: &Entry) -> bool {
    Quantity::ALL
        .into_iter()
        .all(|quantity| match (a.get(quantity), b.get(quantity)) {
            (Some(a), Some(b)) => {
                let (a, b) = (a.to_pressure().as_f64_pa(), b.to_pressure().as_f64_pa());
                (a - b).abs() <= 1.0e-3 * a.abs().max(b.abs())
            }
            (None, None) => true,
            _ => false,
        })
}
