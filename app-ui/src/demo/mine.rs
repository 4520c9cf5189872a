//! Tarrow Deep, an invented mine: twelve stations on four levels, sixty weeks of visits, four
//! faults that grow.
//!
//! Everything follows from the seed. The history is written as the sheets a real mine would bring:
//! a register, an older sheet out of an office program with semicolons and decimal commas, and a
//! newer plain one. No real place, person or maker.

use std::fmt::Write as _;

use chrono::{DateTime, TimeDelta, Utc};
use winze_core::simulate::{Conditions, Fault, FaultKind, SimulatedReading, StationPlan, station};
use winze_core::station::{Quantity, Station, StationCode};
use winze_core::verdict::Entry;

/// Weeks of history before the day of the demo.
pub const WEEKS: u32 = 60;

/// Weeks that stand in the older of the two sheets.
const OLDER_WEEKS: usize = 32;

/// The four levels from the top: name, depth in metres, usual inlet pressure in bar. The main is
/// fed from a surface tank, so pressure grows with depth between its breaks.
const LEVELS: [(&str, i32, (f64, f64)); 4] = [
    ("Level 160", 160, (8.0, 9.5)),
    ("Level 280", 280, (9.5, 11.0)),
    ("Level 420", 420, (11.0, 13.0)),
    ("Level 540", 540, (13.0, 15.0)),
];

/// The twelve stations in walking order: three on each level.
const NAMES: [&str; 12] = [
    "tank crosscut",
    "north drive",
    "workshop",
    "pump chamber",
    "east drive",
    "crusher station",
    "north drive",
    "south drive",
    "drill bay",
    "winze foot",
    "west drive",
    "sump crosscut",
];

/// The faults: station number from 1, what, when in weeks, how strong.
const FAULTS: [(usize, FaultKind, f64, f64); 4] = [
    (3, FaultKind::PilotCreepUp, 54.0, 0.008),
    (5, FaultKind::StrainerBlocking, 30.0, 0.26),
    (8, FaultKind::FirstStagePassing, 40.0, 0.011),
    (11, FaultKind::OutletGaugeStuck, 44.0, 0.0),
];

/// What the register says of sizes, flows and limits, in the order of [`FITTINGS`]: all that the
/// hydraulic check asks for.
const FITTINGS_HEAD: &str = "first_stage_size_mm,first_stage_kv,first_stage_fl,first_stage_sigma,\
     second_stage_size_mm,second_stage_kv,second_stage_fl,second_stage_sigma,spring_low,\
     spring_high,water_temperature_c,downstream_max,relief_set,flow_min,flow_usual,flow_max\n";

/// The same at each station; invented.
const FITTINGS: &str = "50,20,0.90,1.5,50,25,0.90,1.5,1,6,18,6,5,3,8,16";

/// Stations whose makers' sheets were lost: the check has to say what it lacks.
const SPARSE: [&str; 2] = ["T-04", "T-12"];

/// One station of the mine.
#[derive(Debug, Clone, PartialEq)]
pub struct MineStation {
    /// Its definition.
    pub station: Station,
    /// Visits before the day, oldest first.
    pub history: Vec<SimulatedReading>,
    /// What its gauges show on the day.
    pub today: Entry,
    /// What grows wrong with it, and since when.
    pub fault: Option<(FaultKind, DateTime<Utc>)>,
}

/// The mine.
#[derive(Debug, Clone, PartialEq)]
pub struct Mine {
    /// Its stations in walking order.
    pub stations: Vec<MineStation>,
}

/// What it is called.
pub const NAME: &str = "Tarrow Deep";

impl Mine {
    /// Simulates the mine up to the day of the demo.
    #[must_use]
    pub fn simulate(seed: u64, day: DateTime<Utc>) -> Self {
        let stations = (0..NAMES.len()).filter_map(|index| simulate_one(seed, day, index));
        Self {
            stations: stations.collect(),
        }
    }

    /// The station number `number`, counted from 1 in walking order.
    #[must_use]
    pub fn number(&self, number: usize) -> Option<&MineStation> {
        self.stations.get(number.checked_sub(1)?)
    }

    /// Readings in the history.
    #[must_use]
    pub fn history_count(&self) -> usize {
        self.stations
            .iter()
            .map(|station| station.history.len())
            .sum()
    }

    /// The register as a sheet.
    #[must_use]
    pub fn register_csv(&self) -> String {
        let mut text = String::from(
            "# Tarrow Deep, service water. Invented for the demonstration.\n\
             station,name,level,order,ratio,set_point,inlet_typical,unit,gauge_class,inlet_span,\
             interstage_span,outlet_span,depth_m,painted,",
        );
        text.push_str(FITTINGS_HEAD);
        for MineStation { station, .. } in &self.stations {
            let Station {
                code,
                name,
                level,
                order,
                ..
            } = station;
            let _ = writeln!(
                text,
                "{code},{name},{level},{order},{},{},{},{},{},{},{},{},{},green,{}",
                station.first_stage.ratio,
                station.second_stage.set_point.digits,
                typical(station),
                station.unit,
                station.inlet.class,
                station.inlet.high.digits,
                station.interstage.high.digits,
                station.outlet.high.digits,
                station.site.depth_m.unwrap_or(0),
                if SPARSE.contains(&code.as_str()) {
                    ",".repeat(FITTINGS_HEAD.matches(',').count())
                } else {
                    FITTINGS.to_owned()
                },
            );
        }
        text
    }

    /// The older visits, as an office program with decimal commas wrote them: byte-order mark,
    /// semicolons, CRLF, local time without an offset; and what such sheets collect over the years,
    /// a station that no longer exists and a value nobody can read.
    #[must_use]
    pub fn older_csv(&self) -> String {
        let mut text = String::from(
            "\u{feff}station;taken_at;inlet;interstage;outlet;unit;flow;by;remark\r\n",
        );
        for (code, reading) in self.visits(0, OLDER_WEEKS) {
            let when = reading.taken_at.format("%Y-%m-%d %H:%M");
            let [inlet, interstage, outlet] =
                cells(&reading.entry).map(|cell| cell.replace('.', ","));
            let unit = unit(&reading.entry);
            let _ = write!(
                text,
                "{code};{when};{inlet};{interstage};{outlet};{unit};;{};\r\n",
                reader(code)
            );
        }
        let first = self.visits(0, 1).next();
        let when = first.map_or_else(String::new, |(_, r)| {
            r.taken_at.format("%Y-%m-%d").to_string()
        });
        let _ = write!(
            text,
            "T-99;{when};9,8;3,9;2,0;bar;;;taken out of service\r\n"
        );
        let _ = write!(
            text,
            "T-01;{when};9,8;3,9;2,O;bar;;;\"letter O, as found\"\r\n"
        );
        text
    }

    /// The newer visits as a plain sheet, and its last line cut short as a hurried copy leaves it.
    #[must_use]
    pub fn newer_csv(&self) -> String {
        let mut text = String::from("station,taken_at,inlet,interstage,outlet,unit,flow,by\n");
        for (code, reading) in self.visits(OLDER_WEEKS, usize::MAX) {
            let when = reading.taken_at.format("%Y-%m-%dT%H:%M:%SZ");
            let [inlet, interstage, outlet] = cells(&reading.entry);
            let unit = unit(&reading.entry);
            let _ = writeln!(
                text,
                "{code},{when},{inlet},{interstage},{outlet},{unit},flowing,{}",
                reader(code)
            );
        }
        text.push_str("T-02,2026-");
        text
    }

    /// Visits number `from` up to but not including `to` of every station, in order of time.
    fn visits(
        &self,
        from: usize,
        to: usize,
    ) -> impl Iterator<Item = (&StationCode, SimulatedReading)> {
        let mut all: Vec<(&StationCode, SimulatedReading)> = self
            .stations
            .iter()
            .flat_map(|one| {
                let end = to.min(one.history.len());
                let part = one.history.get(from..end).unwrap_or_default();
                part.iter().map(|reading| (&one.station.code, *reading))
            })
            .collect();
        all.sort_by_key(|(code, reading)| (reading.taken_at, (*code).clone()));
        all.into_iter()
    }
}

fn simulate_one(seed: u64, day: DateTime<Utc>, index: usize) -> Option<MineStation> {
    let (level, depth_m, inlet_bar) = *LEVELS.get(index / 3)?;
    let number = u32::try_from(index).ok()? + 1;
    let fault = FAULTS.iter().find(|(at, ..)| *at == index + 1);
    let walk = TimeDelta::minutes(i64::from(number) * 12);
    let plan = StationPlan {
        code: StationCode::parse(&format!("T-{number:02}")).ok()?,
        name: NAMES.get(index)?.to_string(),
        level: level.to_owned(),
        order: number,
        start: day - TimeDelta::weeks(i64::from(WEEKS)) + walk,
        // The visit of the day itself is the last one.
        weeks: f64::from(WEEKS) + 0.5,
        faults: fault
            .map(|&(_, kind, onset_weeks, magnitude)| Fault {
                kind,
                onset_weeks,
                magnitude,
            })
            .into_iter()
            .collect(),
        slip_share: 0.0,
    };
    let conditions = Conditions {
        inlet_bar,
        ..Conditions::reference()
    };
    let mut simulated = station(&conditions, &plan, seed, u64::from(number));
    let today = simulated.readings.pop()?.entry;
    simulated.station.site.depth_m = Some(depth_m);
    Some(MineStation {
        station: simulated.station,
        history: simulated.readings,
        today,
        fault: fault
            .map(|(_, kind, ..)| *kind)
            .zip(simulated.onsets.first().copied()),
    })
}

/// Who used to read a station: Ada the upper levels, Ben the lower ones.
fn reader(code: &StationCode) -> &'static str {
    if code.as_str() < "T-07" { "Ada" } else { "Ben" }
}

/// The typical inlet pressure a register gives: the middle of the usual range, to a tenth.
fn typical(station: &Station) -> String {
    station
        .inlet_usual
        .middle()
        .to_decimal(station.unit, 1)
        .to_string()
}

/// The three values as cells; a gauge that was not read is an empty one.
fn cells(entry: &Entry) -> [String; 3] {
    Quantity::ALL.map(|quantity| {
        entry
            .get(quantity)
            .map_or_else(String::new, |typed| typed.digits.to_string())
    })
}

fn unit(entry: &Entry) -> &'static str {
    let first = Quantity::ALL
        .into_iter()
        .find_map(|quantity| entry.get(quantity));
    first.map_or("", |typed| typed.unit.code())
}

#[cfg(test)]
mod tests {
    use winze_core::sheet::{ReadingSheet, RegisterSheet, SheetOptions};

    use super::{DateTime, Mine, Utc, WEEKS};

    fn mine() -> Mine {
        Mine::simulate(
            7,
            DateTime::<Utc>::UNIX_EPOCH + chrono::TimeDelta::days(20_000),
        )
    }

    #[test]
    fn same_seed_gives_the_same_mine() {
        assert_eq!(mine(), mine());
        let day = DateTime::<Utc>::UNIX_EPOCH + chrono::TimeDelta::days(20_000);
        assert_ne!(mine(), Mine::simulate(8, day));
    }

    #[test]
    fn register_defines_twelve_sound_stations_as_simulated() {
        let mine = mine();
        let text = mine.register_csv();
        let mut sheet = RegisterSheet::open(text.as_bytes(), SheetOptions::default()).unwrap();
        for expected in &mine.stations {
            let row = sheet.next_row().unwrap().unwrap().unwrap();
            assert_eq!(row.station.code, expected.station.code);
            let stages = [&row.station, &expected.station].map(|one| one.second_stage.clone());
            assert_eq!(stages[0].set_point, stages[1].set_point);
            assert_eq!(stages[0].band, stages[1].band);
            assert_eq!(
                stages[0].minimum_differential,
                stages[1].minimum_differential
            );
            let found = winze_core::hydraulics::check(&row.station).unwrap();
            let is_sparse = super::SPARSE.contains(&row.station.code.as_str());
            assert_eq!(found.lacking.is_empty(), !is_sparse, "{:?}", found.lacking);
            // The sheet is silent about divisions, as most are; they are assumed.
            let mut inlet = expected.station.inlet.clone();
            inlet.division = row.station.inlet.division;
            assert_eq!(row.station.inlet, inlet);
            assert_eq!(row.station.site.depth_m, expected.station.site.depth_m);
        }
        assert!(sheet.next_row().unwrap().is_none());
        assert_eq!(sheet.notices().len(), 1, "the column nobody knows");
    }

    #[test]
    fn both_sheets_hold_the_whole_history() {
        let mine = mine();
        let expected = usize::try_from(WEEKS).unwrap() * 12;
        assert_eq!(mine.history_count(), expected);
        let (mut good, mut refused) = (0, 0);
        for text in [mine.older_csv(), mine.newer_csv()] {
            let mut sheet = ReadingSheet::open(text.as_bytes(), SheetOptions::default()).unwrap();
            while let Some(row) = sheet.next_row().unwrap() {
                match row {
                    Ok(_) => good += 1,
                    Err(_) => refused += 1,
                }
            }
        }
        // One of the bad rows names a station that does not exist, which the logbook finds.
        assert_eq!((good, refused), (expected + 1, 2));
    }
}
