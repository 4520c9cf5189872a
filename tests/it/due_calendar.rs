//! `winze due` through the command, and its calendar as libraries of other authors read it.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use std::sync::Arc;

use chrono::NaiveDate;
use icalendar::parser::{read_calendar, unfold};
use rrule::RRuleSet;
use winze_core::Logbook;
use winze_core::actions::{NewTaskDone, note_task_done};
use winze_core::clock::FixedClock;
use winze_core::query::due_on;
use winze_core::upkeep::Task;
use winze_tests::command::{Ran, run};
use winze_tests::samples::code;

/// Examples of RFC 5545, 3.8.5.3, and own rules; dates computed with python-dateutil.
const RULES: &str = include_str!("../../core/tests/data/rrule.csv");

const REGISTER: &str = "station,name,level,order,ratio,set_point,inlet_typical,unit,gauge_class,\
                        inlet_span,interstage_span,outlet_span\n\
    T-01,\"pump chamber, old; by the sump\",Level 160,1,2.5,2,10,bar,1.6,16,10,4\n\
    T-02,Stra\u{df}e der Bergleute am F\u{f6}rderturm und an der langen Wetterstrecke,Level 420,2,\
    2.5,2,10,bar,1.6,16,10,4\n";

const READINGS: &str = "station,taken_at,inlet,interstage,outlet,unit\n\
    T-01,2025-12-22T07:00:00Z,10.0,4.0,2.00,bar\n\
    T-02,2025-12-29T07:00:00Z,10.1,4.0,2.00,bar\n";

fn winze(folder: &Path, arguments: &[&str]) -> Ran {
    run(env!("CARGO_BIN_EXE_winze-commands"), folder, arguments)
}

fn due(folder: &Path, more: &[&str]) -> Ran {
    let mut arguments = vec!["due", "--logbook", "book"];
    arguments.extend(more);
    winze(folder, &arguments)
}

/// A folder with a logbook of two stations, read in the last two weeks of 2025.
fn site() -> tempfile::TempDir {
    let site = tempfile::tempdir().expect("a folder");
    let path = site.path();
    std::fs::write(path.join("register.csv"), REGISTER).expect("a file");
    std::fs::write(path.join("readings.csv"), READINGS).expect("a file");
    let sheets = ["--register", "register.csv", "--readings", "readings.csv"];
    let mut arguments = vec!["load", "--logbook", "book"];
    arguments.extend(sheets);
    let loaded = winze(path, &arguments);
    assert_eq!(loaded.code, Some(0), "{loaded:?}");
    site
}

fn note(folder: &Path, station: &str, task: Task, on: &str) {
    let at = day("2026-01-06")
        .and_hms_opt(8, 0, 0)
        .expect("a time")
        .and_utc();
    let clock = Arc::new(FixedClock::at(at.timestamp_millis()));
    let mut book = Logbook::open(&folder.join("book"), clock).expect("the logbook");
    let new = NewTaskDone {
        station: code(station),
        task,
        done_on: day(on),
        note: String::new(),
        by: "C. Clerk".to_owned(),
    };
    note_task_done(&mut book, new).expect("noted");
}

fn day(text: &str) -> NaiveDate {
    text.parse().expect("a day")
}

/// Each event's properties by name, values unescaped, as the other library reads them.
fn events(ics: &str) -> Vec<BTreeMap<String, String>> {
    let unfolded = unfold(ics);
    let calendar = read_calendar(&unfolded).unwrap_or_else(|error| panic!("{error}"));
    let inside = calendar.components.into_iter();
    inside
        .map(|event| {
            assert_eq!(event.name.as_str(), "VEVENT");
            event
                .properties
                .into_iter()
                .map(|property| {
                    let mut name = property.name.as_str().to_owned();
                    for one in &property.params {
                        let value = one.val.as_ref().map_or("", |value| value.as_str());
                        name = format!("{name};{}={value}", one.key.as_str());
                    }
                    let value = property.val.unescape_text();
                    (name, value.as_str().to_owned())
                })
                .collect()
        })
        .collect()
}

/// The days a rule gives, by the other library's reckoning.
fn expanded(first: &str, rule: &str, limit: u16) -> Vec<String> {
    let set: RRuleSet = format!("DTSTART:{first}\nRRULE:{rule}")
        .parse()
        .expect("a rule");
    let all = set.all(limit).dates;
    all.iter()
        .map(|date| date.format("%Y-%m-%d").to_string())
        .collect()
}

/// Check value F-3: the library that expands our rules reproduces the published ones.
#[test]
fn f3_recurrence_rules_come_to_the_published_days() {
    let mut checked = 0;
    for line in RULES.lines().skip(2) {
        // Only the rule may stand in quotes.
        let (head, rest) = line
            .split_once(",19")
            .or_else(|| line.split_once(",20"))
            .expect("a row");
        let century = if line.contains(",19") { "19" } else { "20" };
        let (start, rest) = rest.split_once(',').expect("a start");
        let (rule, rest) = match rest.strip_prefix('"') {
            Some(rest) => rest.split_once("\",").expect("a rule"),
            None => rest.split_once(',').expect("a rule"),
        };
        let (count, dates) = rest.split_once(',').expect("a count");
        let dates: Vec<&str> = dates.split_whitespace().collect();
        let first = format!("{century}{start}").replace(['-', ':'], "") + "Z";
        // The table's UNTIL is local time without Z; with a start in UTC it needs one.
        let rule = rule.replace("T000000", "T000000Z");
        let found = expanded(&first, &rule, u16::try_from(dates.len()).expect("few"));
        assert_eq!(found, dates, "{head}: {rule}");
        assert!(
            count.parse::<usize>().is_ok_and(|n| n >= dates.len()),
            "{line}"
        );
        checked += 1;
    }
    assert_eq!(checked, 18);
}

#[test]
fn the_calendar_is_read_by_another_library_and_says_what_the_list_says() {
    let site = site();
    let site = site.path();
    note(site, "T-01", Task::YearlyClean, "2024-02-29");
    note(site, "T-02", Task::InternalInspection, "2022-03-31");
    let on = ["--on", "2026-01-06"];
    let ran = due(site, &[&on[..], &["--ics"]].concat());
    assert_eq!(ran.code, Some(1), "{ran:?}");
    for line in ran.out.split_inclusive("\r\n") {
        assert!(line.ends_with("\r\n"), "{line:?}");
        assert!(line.len() <= 75 + 2, "{line:?}");
        assert!(
            !line.trim_end_matches("\r\n").contains(['\r', '\n']),
            "{line:?}"
        );
    }
    let found = events(&ran.out);
    // The walk, and for each station a cleaning and an inspection.
    assert_eq!(found.len(), 1 + 2 * 2);
    let uids: BTreeSet<&String> = found.iter().map(|event| &event["UID"]).collect();
    assert_eq!(uids.len(), found.len(), "every event has a name of its own");
    for event in &found {
        assert!(
            event["DTSTAMP"].ends_with('Z') && event["DTSTAMP"].len() == 16,
            "{event:?}"
        );
        assert!(
            event["SEQUENCE"].parse::<i32>().is_ok_and(|n| n > 0),
            "{event:?}"
        );
    }

    let json = due(site, &[&on[..], &["--json"]].concat()).json();
    let mut of_list = BTreeSet::new();
    for station in json["stations"].as_array().expect("stations") {
        for task in station["tasks"].as_array().expect("tasks") {
            if task["task"] != "look-round" {
                let due = task["window"]["due"].as_str().expect("a day");
                let code = station["station"].as_str().expect("a code");
                of_list.insert((code.to_owned(), due.replace('-', "")));
            }
        }
    }
    let of_calendar: BTreeSet<(String, String)> = found
        .iter()
        .filter(|event| !event.contains_key("RRULE"))
        .map(|event| {
            let code = event["SUMMARY"].split(':').next().expect("a code");
            (code.to_owned(), event["DTSTART;VALUE=DATE"].clone())
        })
        .collect();
    assert_eq!(of_calendar, of_list);
    // A leap day and a year is 28 February.
    assert!(of_calendar.contains(&("T-01".to_owned(), "20250228".to_owned())));

    // Commas, semicolons and long names in two languages come back as they went.
    let places: BTreeSet<&str> = found
        .iter()
        .filter_map(|event| event.get("LOCATION").map(String::as_str))
        .collect();
    let expected = [
        "Level 160, pump chamber, old; by the sump",
        "Level 420, Stra\u{df}e der Bergleute am F\u{f6}rderturm und an der langen Wetterstrecke",
    ];
    assert_eq!(places.into_iter().collect::<Vec<_>>(), expected);
}

#[test]
fn the_walk_comes_again_each_week_and_through_week_53() {
    let site = site();
    let ran = due(site.path(), &["--on", "2026-01-06", "--ics"]);
    let found = events(&ran.out);
    let walk = found
        .iter()
        .find(|event| event.contains_key("RRULE"))
        .expect("the walk");
    assert_eq!(walk["SUMMARY"], "Look-round with readings: 2 stations");
    // T-01 was read in the week of 22 December: its next week began on the 29th.
    let first = &walk["DTSTART;VALUE=DATE"];
    assert_eq!(first, "20251229");
    let mondays = expanded(&format!("{first}T000000Z"), &walk["RRULE"], 55);
    assert_eq!(mondays[..2], ["2025-12-29", "2026-01-05"]);
    assert_eq!(mondays[52..], ["2026-12-28", "2027-01-04", "2027-01-11"]);
}

#[test]
fn the_same_data_give_the_same_bytes_and_new_data_move_the_same_events() {
    let site = site();
    let site = site.path();
    let calendar = |on: &str| due(site, &["--on", on, "--ics"]).out;
    let before = calendar("2026-01-06");
    assert_eq!(before, calendar("2026-01-06"));
    // The day on which it is asked for does not show, only what is known.
    assert_eq!(before, calendar("2026-01-20"));
    note(site, "T-01", Task::YearlyClean, "2026-01-05");
    let after = calendar("2026-01-06");
    let (before, after) = (events(&before), events(&after));
    let mut moved = Vec::new();
    for (old, new) in before.iter().zip(&after) {
        assert_eq!(old["UID"], new["UID"]);
        let sequence = |event: &BTreeMap<String, String>| -> u32 {
            event["SEQUENCE"].parse().expect("a number")
        };
        if old["DTSTART;VALUE=DATE"] != new["DTSTART;VALUE=DATE"] {
            assert!(
                sequence(new) > sequence(old),
                "an import takes the larger one"
            );
            moved.push(new["SUMMARY"].clone());
        }
        assert!(sequence(new) >= sequence(old));
    }
    assert_eq!(moved, ["T-01: strainer and control loop cleaning"]);
}

#[test]
fn exit_codes_and_words_say_whether_anything_is_pressing() {
    let site = site();
    let site = site.path();
    // In the week in which both were read nothing is due.
    note(site, "T-01", Task::LookRound, "2025-12-29");
    let ran = due(site, &["--on", "2026-01-03"]);
    assert_eq!(ran.code, Some(0), "{ran:?}");
    assert_eq!(
        ran.out,
        "Due on 2026-01-03, week 2026-W01: 0 overdue, 0 due, 0 may be done early; 0 jobs open.\n"
    );
    let all = due(site, &["--on", "2026-01-03", "--all"]);
    assert_eq!(all.code, Some(0));
    assert!(all.out.contains("not yet"), "{}", all.out);
    let ran = due(site, &["--on", "2026-01-12"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.out.contains("2 overdue"), "{}", ran.out);
    assert!(ran.out.contains("Level 420"), "{}", ran.out);

    for bad in ["2026-02-29", "10000-01-01", "0000-01-01", "tomorrow"] {
        assert_eq!(due(site, &["--on", bad]).code, Some(2), "{bad}");
    }
    for edge in ["0001-01-01", "9999-12-31", "2400-02-29"] {
        for form in ["--json", "--ics", "--all"] {
            let ran = due(site, &["--on", edge, form]);
            assert!(
                ran.code.is_some_and(|code| code < 3),
                "{edge} {form}: {ran:?}"
            );
        }
    }
    let none = winze(site, &["due", "--logbook", "nowhere"]);
    assert_eq!(none.code, Some(2), "{none:?}");
}

#[test]
fn json_is_one_object_with_every_task_and_its_reasons() {
    let site = site();
    let site = site.path();
    let json = due(site, &["--on", "2027-03-01", "--json"]).json();
    assert_eq!(
        (&json["command"], &json["outcome"]),
        (&"due".into(), &"findings".into())
    );
    assert_eq!(
        (&json["on"], &json["week"]),
        (&"2027-03-01".into(), &"2027-W09".into())
    );
    let clean = &json["stations"][0]["tasks"][1];
    assert_eq!(clean["task"], "yearly-clean");
    assert_eq!(
        (&clean["status"], &clean["last_done"]),
        (&"overdue".into(), &().into())
    );
    assert_eq!(clean["why"][0]["code"], "counted-from");
    assert_eq!(clean["why"][0]["from"], "first-reading");
    assert_eq!(clean["why"][0]["on"], "2025-12-22");
    assert_eq!(clean["why"][1]["most_months"], 13);
    // The counts are those of the list.
    let mut overdue = 0;
    for station in json["stations"].as_array().expect("stations") {
        let tasks = station["tasks"].as_array().expect("tasks");
        overdue += tasks
            .iter()
            .filter(|task| task["status"] == "overdue")
            .count();
    }
    assert_eq!(json["counts"]["overdue"], overdue);
    let logbook = Logbook::open(&site.join("book"), Arc::new(FixedClock::at(0))).expect("open");
    let list = due_on(&logbook, day("2027-03-01")).expect("a list");
    assert_eq!(list.counts().overdue, overdue);
}
