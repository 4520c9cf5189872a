//! What the rules of the core made of the demo's readings: how many flags, and when each of the
//! simulated faults was found, told beside what was really wrong.

use chrono::TimeDelta;
use winze_core::Logbook;

use super::mine::Mine;
use super::summary::{AssessSummary, FoundSummary};
use crate::commands::assess::{Flag, flags};
use crate::messages::UserMessage;

/// Goes through the readings of a logbook and looks for the faults of the mine among the flags.
pub fn found(logbook: &Logbook, mine: &Mine) -> Result<AssessSummary, UserMessage> {
    let (_, flags) = flags(logbook)?;
    let mut found = Vec::new();
    for one in &mine.stations {
        let Some((kind, since)) = one.fault else {
            continue;
        };
        let first = flags.iter().find(|flag| {
            // Anything raised before the fault began has another reason.
            flag.station == one.station.code && flag.raised.at >= since
        });
        let days = first.map(|flag| flag.raised.at.signed_duration_since(since));
        found.push(FoundSummary {
            station: one.station.code.to_string(),
            fault: kind.code(),
            found_on: first.map(|flag| flag.raised.at.format("%Y-%m-%d").to_string()),
            days_after: days.map(|days| days.num_days()),
            rule: first.map(|flag| flag.raised.rule.code()),
            quantity: first.map(|flag| flag.raised.quantity.code()),
            suspect: first.and_then(suspect).map(|(code, _)| code),
            probability: first.and_then(suspect).map(|(_, probability)| probability),
            is_right: first.and_then(|flag| flag.raised.suspects.first()) == Some(kind.cause()),
        });
    }
    let is_false = |flag: &&Flag| {
        let faulty = mine.stations.iter().find_map(|one| {
            let (_, since) = one.fault.filter(|_| one.station.code == flag.station)?;
            Some(since)
        });
        faulty.is_none_or(|since| flag.raised.at + TimeDelta::days(1) < since)
    };
    Ok(AssessSummary {
        flags: flags.len(),
        without_a_fault: flags.iter().filter(is_false).count(),
        found,
    })
}

fn suspect(flag: &Flag) -> Option<(&'static str, f64)> {
    let all = flag.raised.suspects.in_order();
    let first = all.first()?;
    Some((first.cause.code(), first.probability))
}
