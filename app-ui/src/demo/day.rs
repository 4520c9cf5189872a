//! The story of the day, step by step, each checked against what must come of it.

use std::path::{Path, PathBuf};

use chrono::{DateTime, TimeDelta, Utc};
use winze_core::Logbook;
use winze_core::actions::{BundleMerged, MergeReport};
use winze_core::record::Body;
use winze_core::station::StationCode;
use winze_sync_format::SignedRecord;
use winze_sync_format::bundle::{SeqRange, read_bundle};

use super::damage::with_lost_sector;
use super::folders::{DayClock, Folders};
use super::mine::{Mine, NAME};
use super::office::Office;
use super::operator::{give, take};
use super::summary::{
    BundleSummary, FaultSummary, LostSummary, MergeSummary, ResentSummary, ReturnSummary, Summary,
    UnknownSummary,
};
use super::team::{Stop, Tablet};
use super::upkeep::leave_calendar;
use super::walks::{CREEPING, DISPUTED, LEAKING, LOST, VISITED};
use super::{screens, unexpected, works};
use crate::messages::{UserMessage, losses};
use crate::statements;

/// Everybody and everything in the story.
pub struct Story<'a> {
    folders: &'a Folders,
    mine: &'a Mine,
    clock: DayClock,
    day: DateTime<Utc>,
    office: Office,
    a: Tablet,
    b: Tablet,
    visitor: Tablet,
    tray: Vec<PathBuf>,
    whole_b: Vec<u8>,
}

/// What grows wrong in the mine.
pub fn faults(mine: &Mine) -> Vec<FaultSummary> {
    let faulty = mine
        .stations
        .iter()
        .filter_map(|one| Some((one, one.fault?)));
    faulty
        .map(|(one, (kind, since))| FaultSummary {
            station: one.station.code.to_string(),
            fault: kind.code(),
            since: since.format("%Y-%m-%d").to_string(),
        })
        .collect()
}

impl<'a> Story<'a> {
    /// The day before: the office takes over the old sheets, lets two tablets in, and sends out
    /// the definitions. A visitor's tablet gets them too, but nobody lets it in.
    pub fn begin(
        folders: &'a Folders,
        mine: &'a Mine,
        day: DateTime<Utc>,
        summary: &mut Summary,
    ) -> Result<Self, UserMessage> {
        let clock = DayClock::at(day - TimeDelta::hours(10));
        let mut office = Office::make(folders, mine, &clock, &mut summary.history)?;
        office.note_the_old_book(mine, day)?;
        let tablet = |name, by, folder, mark| Tablet::make(name, by, folder, &clock, mark);
        let mut a = tablet("Tablet A", "Ada", folders.logbook("tablet-a"), 0xa)?;
        let mut b = tablet("Tablet B", "Ben", folders.logbook("tablet-b"), 0xb)?;
        let mut visitor = tablet("Visitor", "V. Visitor", folders.visitor.clone(), 0xc)?;
        office.enrol(a.logbook()?.log_id(), a.name)?;
        office.enrol(b.logbook()?.log_id(), b.name)?;
        let sent = office.pack(&folders.bundles)?;
        summary
            .bundles
            .push(bundle(&sent.path, "the office", sent.records, "whole"));
        folders.fill_stick(&[&sent.path])?;
        for tablet in [&mut a, &mut b, &mut visitor] {
            tablet.join(&folders.stick)?;
        }
        let (tray, whole_b) = (Vec::new(), Vec::new());
        Ok(Self {
            folders,
            mine,
            clock,
            day,
            office,
            a,
            b,
            visitor,
            tray,
            whole_b,
        })
    }

    /// The rounds of the morning; at the end three bundles lie in the tray, one of them damaged.
    pub fn morning(&mut self, summary: &mut Summary) -> Result<(), UserMessage> {
        self.clock.set(self.hour(7));
        let stops = self.mine.stops_of_a()?;
        self.a.open_round("Morning, upper levels", &stops)?;
        let (before, after) = stops.split_at(CREEPING - 1);
        self.a.walk(before)?;
        // So that pictures have a round to show, and a flag ahead; and the battery is changed.
        self.a
            .while_off(|folder| screens::keep(folder, &self.folders.kept_tablet))?;
        self.a.walk(after)?;
        self.a.close_round()?;
        let leaking = self.code(LEAKING)?;
        summary
            .rounds
            .push(self.a.round_summary(vec![format!("leak at {leaking}")])?);

        self.clock.set(self.hour(8));
        let stops = self.mine.stops_of_b()?;
        self.b.open_round("Morning, lower levels", &stops)?;
        self.b.walk(&stops)?;
        self.b.close_round()?;
        summary.rounds.push(self.b.round_summary(Vec::new())?);

        self.clock.set(self.hour(11));
        let stops = self.mine.stops_of_visitor()?;
        self.visitor.open_round("Visit", &stops)?;
        self.visitor.walk(&stops)?;
        self.visitor.close_round()?;

        self.clock.set(self.hour(13));
        self.hand_over_all(summary)
    }

    /// The moment so many hours after the day began.
    fn hour(&self, hours: i64) -> DateTime<Utc> {
        self.day + TimeDelta::hours(hours)
    }

    fn hand_over_all(&mut self, summary: &mut Summary) -> Result<(), UserMessage> {
        for (tablet, is_lucky) in [
            (&mut self.a, true),
            (&mut self.b, false),
            (&mut self.visitor, true),
        ] {
            self.folders.fill_stick(&[])?;
            give(tablet.session()?, &self.folders.stick)?;
            let on_stick = self.folders.on_stick()?;
            let bytes = self.folders.read(&on_stick)?;
            let records = read_bundle(bytes.as_slice()).report.records;
            let name = on_stick.file_name().unwrap_or_default();
            let (path, state) = if is_lucky {
                let path = self.folders.bundles.join(name);
                self.folders.write(&path, &bytes)?;
                (path, "whole")
            } else {
                let name = name.to_string_lossy().replace(".winze", "-damaged.winze");
                let path = self.folders.bundles.join(name);
                self.folders
                    .write(&path, &damaged(&bytes, &code_of(self.mine, LOST)?)?)?;
                self.whole_b = bytes;
                (path, "damaged")
            };
            summary
                .bundles
                .push(bundle(&path, tablet.name, records, state));
            self.tray.push(path);
        }
        Ok(())
    }

    /// The office merges, lets the visitor in, answers, and sends back.
    pub fn afternoon(&mut self, summary: &mut Summary) -> Result<(), UserMessage> {
        self.clock.set(self.hour(15));
        // Before the merge, so that pictures have a tray to show.
        self.office
            .while_closed(|folder| screens::keep(folder, &self.folders.kept_office))?;
        screens::keep_tray(&self.tray, &self.folders.kept_office)?;
        let report = self.office.merge(&self.tray)?;
        summary.merge = self.merge_summary(&report.bundles)?;

        let held = self.office.held_log()?;
        let before = self.office.overview()?;
        self.clock.advance(10);
        self.office.enrol(held.log, "Visitor")?;
        let after = self.office.overview()?;
        let expected = before.readings + VISITED.len() as u64;
        if after.readings != expected || !after.held.is_empty() {
            return Err(unexpected(
                "the visitor's readings do not count after enrolment.",
            ));
        }
        summary.unknown = UnknownSummary {
            words: held.words.join(" "),
            held_records: held.held,
            readings_before: before.readings,
            readings_after: after.readings,
        };

        self.clock.advance(10);
        let b = self.b.logbook()?.log_id();
        summary.question = self.office.answer(b)?;
        self.office.raise_a_job(&self.code(LEAKING)?)?;
        self.clock.advance(10);
        let back = self.office.pack(&self.folders.bundles)?;
        summary
            .bundles
            .push(bundle(&back.path, "the office", back.records, "whole"));
        self.folders.fill_stick(&[&back.path])?;
        for tablet in [&mut self.a, &mut self.b] {
            let waiting_before = tablet.waiting()?;
            take(tablet.session()?, &self.folders.stick)?;
            let waiting_after = tablet.waiting()?;
            let tablet = tablet.name.to_owned();
            summary.returned.push(ReturnSummary {
                tablet,
                waiting_before,
                waiting_after,
            });
        }
        Ok(())
    }

    /// Tablet B still has what the bad stick lost and sends it again.
    pub fn next_morning(&mut self, summary: &mut Summary) -> Result<(), UserMessage> {
        self.clock.set(self.hour(24 + 7));
        let (path, report) = brought(&mut self.b, &mut self.office, self.folders, summary)?;
        if !report.is_whole() || report.new_records() < summary.merge.lost.len() as u64 {
            return Err(unexpected(
                "what the damaged bundle had lost did not come again.",
            ));
        }
        summary.resent = ResentSummary {
            file: below(&path),
            new_records: report.new_records(),
        };
        summary.office = self.office.summary()?;
        Ok(())
    }

    /// The same day: three faults are put right, each by its procedure; the office prints the papers.
    pub fn put_right(&mut self, seed: u64, summary: &mut Summary) -> Result<(), UserMessage> {
        self.clock.set(self.hour(24 + 8));
        let set_up = self.code(works::SET_UP)?;
        self.office
            .on_logbook(|book| works::complete_definition(book, &set_up))?;
        let sent = self.office.pack(&self.folders.bundles)?;
        summary
            .bundles
            .push(bundle(&sent.path, "the office", sent.records, "whole"));
        self.folders.fill_stick(&[&sent.path])?;
        take(self.b.session()?, &self.folders.stick)?;
        let jobs = [
            (works::RECALIBRATED, works::recalibration()),
            (works::CLEANED, works::yearly()),
            (works::SET_UP, works::set_up()),
        ];
        let (mut done, clock) = (Vec::new(), &self.clock);
        for (number, job) in jobs {
            // Tablet A has the upper levels, tablet B the lower ones.
            let tablet = if number < DISPUTED {
                &mut self.a
            } else {
                &mut self.b
            };
            let one = self.mine.number(number);
            let one = one.ok_or_else(|| unexpected("a station is not there"))?;
            clock.advance(10);
            done.push(tablet.on_logbook(|book| works::at_station(book, clock, one, seed, &job))?);
        }
        let begun = self.code(works::BEGUN)?;
        clock.advance(10);
        self.b
            .on_logbook(|book| works::begin_cleaning(book, &begun))?;
        for tablet in [&mut self.a, &mut self.b] {
            brought(tablet, &mut self.office, self.folders, summary)?;
        }
        self.office
            .while_closed(|folder| screens::keep(folder, &self.folders.kept_works))?;
        let office = self.office.logbook()?;
        summary.works = works::print(office, self.folders, &done)?;
        summary.due = leave_calendar(office, self.folders, NAME)?;
        Ok(())
    }

    /// Tablet A starts another round of all stations, for whoever wants to walk it.
    pub fn leave_a_round_open(&mut self) -> Result<(), UserMessage> {
        let all = (1..=self.mine.stations.len()).map(|number| self.mine.plain(number));
        let all: Vec<Stop> = all.collect::<Result<_, _>>()?;
        self.a.open_round("Afternoon, all levels", &all)
    }

    /// Closes every logbook; the clock stands where the story ended.
    pub fn end(self) -> DayClock {
        self.clock
    }

    /// What the merge brought, checked against what was damaged.
    fn merge_summary(&self, bundles: &[BundleMerged]) -> Result<MergeSummary, UserMessage> {
        let damaged = bundles.get(1).filter(|bundle| !bundle.is_whole());
        let damaged = damaged.ok_or_else(|| unexpected("the damage was not noticed."))?;
        let report = damaged.report.as_ref();
        let report = report.ok_or_else(|| unexpected("the damaged bundle was not read."))?;
        if !bundles
            .iter()
            .enumerate()
            .all(|(index, one)| index == 1 || one.is_whole())
        {
            return Err(unexpected("a whole bundle was taken for a damaged one."));
        }
        let packed = read_bundle(self.whole_b.as_slice()).records;
        let is_lost = |record: &&SignedRecord| {
            let holds = |range: &SeqRange| {
                range.log == record.log() && (range.first..=range.last).contains(&record.seq())
            };
            report.missing.iter().any(holds)
        };
        let lost: Vec<LostSummary> = packed
            .iter()
            .filter(is_lost)
            .map(|record| self.lost(record))
            .collect();
        let arrived = damaged.new_records + damaged.already_held;
        if lost.is_empty() || arrived + lost.len() as u64 != packed.len() as u64 {
            return Err(unexpected(
                "records were lost that the report does not name.",
            ));
        }
        Ok(MergeSummary {
            new_records: bundles.iter().map(|one| one.new_records).sum(),
            new_readings: bundles.iter().map(|one| one.new_readings).sum(),
            damaged_bundle: below(&damaged.path),
            losses: losses(report),
            lost,
        })
    }

    fn lost(&self, record: &SignedRecord) -> LostSummary {
        let says = match Body::decode(record.kind(), record.body()) {
            Ok(body) => statements::body(&body)
                .into_iter()
                .next()
                .unwrap_or_default(),
            Err(error) => error.to_string(),
        };
        LostSummary {
            tablet: self.b.name.to_owned(),
            seq: record.seq(),
            says,
        }
    }

    /// The office's logbook as it is now.
    pub fn office_logbook(&self) -> Result<&Logbook, UserMessage> {
        self.office.logbook()
    }

    fn code(&self, number: usize) -> Result<StationCode, UserMessage> {
        code_of(self.mine, number)
    }
}

/// Brings what a tablet has to the office, which takes it in.
fn brought(
    tablet: &mut Tablet,
    office: &mut Office,
    folders: &Folders,
    summary: &mut Summary,
) -> Result<(PathBuf, MergeReport), UserMessage> {
    folders.fill_stick(&[])?;
    give(tablet.session()?, &folders.stick)?;
    let on_stick = folders.on_stick()?;
    let path = folders
        .bundles
        .join(on_stick.file_name().unwrap_or_default());
    folders.write(&path, &folders.read(&on_stick)?)?;
    let report = office.merge(std::slice::from_ref(&path))?;
    let records = report.bundles.first().and_then(|one| one.report.as_ref());
    let records = records.map_or(0, |report| report.records);
    summary
        .bundles
        .push(bundle(&path, tablet.name, records, "whole"));
    Ok((path, report))
}

fn code_of(mine: &Mine, number: usize) -> Result<StationCode, UserMessage> {
    let station = mine
        .number(number)
        .ok_or_else(|| unexpected("a station is not there"))?;
    Ok(station.station.code.clone())
}

/// A copy of a bundle that lost a sector inside the reading of a station.
fn damaged(bundle: &[u8], station: &StationCode) -> Result<Vec<u8>, UserMessage> {
    let records = read_bundle(bundle).records;
    let hit = records.iter().position(|record| {
        matches!(Body::decode(record.kind(), record.body()),
            Ok(Body::Reading(reading)) if &reading.station == station)
    });
    hit.and_then(|hit| with_lost_sector(bundle, hit))
        .ok_or_else(|| unexpected("the reading to be lost is not in the bundle."))
}

fn bundle(path: &Path, from: &str, records: u64, state: &'static str) -> BundleSummary {
    BundleSummary {
        file: below(path),
        from: from.to_owned(),
        records,
        state,
    }
}

/// A file as named below the demo's folder.
fn below(path: &Path) -> String {
    format!(
        "bundles/{}",
        path.file_name().unwrap_or_default().to_string_lossy()
    )
}
