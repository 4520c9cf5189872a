//! Files that are not files, that change while they are read, that never end, or that are made to
//! cost time and memory.

use std::io::{self, Cursor, Read, Write as _};
use std::path::Path;

use winze_sync_format::bundle::{BundleEvent, BundleReader, TrailerFault, TrailerState};
use winze_sync_format::disk::{Disk as _, RealDisk};
use winze_sync_format::salvage::{DamageReason, Found, ItemScanner, ReadLimits};
use winze_sync_format::segment::SegmentWriter;
use winze_sync_format::{LogKey, MARK, SignedRecord};

use super::common::{ONE, bundle_of, bytes_of, item_at, log, log_id, peak_kib, read, wrap};

/// Most memory that all tests of this binary together may take, whatever they are fed.
const PEAK_MAX_KIB: u64 = 64 * 1024;

fn assert_little_memory() {
    if let Some(peak) = peak_kib() {
        assert!(peak <= PEAK_MAX_KIB, "peak of {peak} KiB");
    }
}

fn refused(path: &Path) {
    let refused = |outcome: io::Result<()>| assert!(outcome.is_err(), "{}", path.display());
    refused(RealDisk.open(path).map(|_| ()));
    refused(RealDisk.open_uncached(path).map(|_| ()));
    refused(RealDisk.open_append(path).map(|_| ()));
    refused(RealDisk.length(path).map(|_| ()));
    refused(RealDisk.create(path).map(|_| ()));
    assert!(SegmentWriter::open(&RealDisk, path).is_err());
    assert!(LogKey::load(&RealDisk, path).is_err());
}

#[cfg(unix)]
#[test]
fn links_are_not_followed() {
    let folder = tempfile::tempdir().unwrap();
    let target = folder.path().join("target");
    std::fs::write(&target, bundle_of(&log(ONE, 1))).unwrap();
    for (name, to) in [
        ("link", target.as_path()),
        ("dangling", Path::new("nowhere")),
        ("loop", Path::new("loop")),
    ] {
        let link = folder.path().join(name);
        std::os::unix::fs::symlink(to, &link).unwrap();
        refused(&link);
    }
    assert_eq!(std::fs::read(&target).unwrap(), bundle_of(&log(ONE, 1)));
}

#[cfg(target_os = "linux")]
#[test]
fn folders_pipes_and_devices_are_not_opened() {
    let folder = tempfile::tempdir().unwrap();
    refused(folder.path());
    // A pipe that nobody writes to: opening it plainly would wait for ever.
    let pipe = folder.path().join("pipe");
    rustix::fs::mknodat(
        rustix::fs::CWD,
        &pipe,
        rustix::fs::FileType::Fifo,
        rustix::fs::Mode::from_raw_mode(0o600),
        0,
    )
    .unwrap();
    refused(&pipe);
    for device in ["/dev/zero", "/dev/null", "/dev/full"] {
        refused(Path::new(device));
    }
    let socket = folder.path().join("socket");
    let _listener = std::os::unix::net::UnixListener::bind(&socket).unwrap();
    refused(&socket);
}

/// What was opened is what is read, whatever gets its name meanwhile.
#[test]
fn a_file_swapped_after_it_was_opened() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bundle");
    let records = log(ONE, 3);
    std::fs::write(&path, bundle_of(&records)).unwrap();
    let file = RealDisk.open(&path).unwrap();
    let other = folder.path().join("other");
    std::fs::write(&other, b"something else").unwrap();
    std::fs::rename(&other, &path).unwrap();
    let found = winze_sync_format::bundle::read_bundle(file);
    assert!(found.report.is_whole());
    assert_eq!(found.records, records);
}

/// Appends to the file that is being read, at every read.
struct Growing<'a> {
    file: std::fs::File,
    path: &'a Path,
    by: &'a [u8],
    reads: u64,
}

impl Read for Growing<'_> {
    fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
        self.reads += 1;
        let mut end = std::fs::OpenOptions::new().append(true).open(self.path)?;
        end.write_all(self.by)?;
        self.file.read(out)
    }
}

#[test]
fn a_file_that_grows_while_it_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bundle");
    let records = log(ONE, 3);
    let good = bundle_of(&records);
    for by in [&b"junk"[..], &[0], &good] {
        std::fs::write(&path, &good).unwrap();
        let file = std::fs::File::open(&path).unwrap();
        let mut growing = Growing {
            file,
            path: &path,
            by,
            reads: 0,
        };
        let limits = ReadLimits {
            bytes: 20_000,
            ..ReadLimits::default()
        };
        let mut reader = BundleReader::new(&mut growing).limits(limits);
        let mut found = Vec::new();
        for event in &mut reader {
            if let BundleEvent::Record(record) = event {
                found.push(record);
            }
        }
        let report = reader.finish();
        assert_eq!(found[..3], records);
        assert_eq!(
            report.trailer,
            TrailerState::Disagrees(TrailerFault::NotLast)
        );
        assert!(report.bytes <= limits.bytes);
        assert!(growing.reads < 20_000);
    }
}

/// The end is believed once: what comes behind a first end of file is not read.
#[test]
fn a_file_that_goes_on_behind_its_end() {
    struct Revenant<'a>(Cursor<&'a [u8]>, bool);
    impl Read for Revenant<'_> {
        fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
            assert!(!self.1, "read again behind the end");
            let count = self.0.read(out)?;
            self.1 = count == 0;
            Ok(count)
        }
    }
    let good = bundle_of(&log(ONE, 3));
    let found = winze_sync_format::bundle::read_bundle(Revenant(Cursor::new(&good), false));
    assert!(found.report.is_whole());
}

/// A stream that claims to have given more than there was room for.
#[test]
fn a_stream_that_lies_about_how_much_it_gave() {
    struct Liar<'a>(Cursor<&'a [u8]>);
    impl Read for Liar<'_> {
        fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
            Ok(match self.0.read(out)? {
                0 => 0,
                _ => out.len() + 1_000_000,
            })
        }
    }
    let records = log(ONE, 3);
    let found = winze_sync_format::bundle::read_bundle(Liar(Cursor::new(&bundle_of(&records))));
    assert_eq!(found.records, records);
    assert!(!found.report.is_whole());
}

/// A medium that fails in the middle, for good: what came before is kept, and reading ends.
#[test]
fn a_medium_that_fails_for_good() {
    struct Failing<'a>(Cursor<&'a [u8]>);
    impl Read for Failing<'_> {
        fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
            match self.0.read(out)? {
                0 => Err(io::Error::other("bad sector")),
                count => Ok(count),
            }
        }
    }
    let records = log(ONE, 3);
    let good = bundle_of(&records);
    let found = winze_sync_format::bundle::read_bundle(Failing(Cursor::new(&good)));
    assert_eq!(found.records, records);
    let damage = found.report.damage.last().unwrap();
    assert_eq!(
        damage.reason,
        DamageReason::Unreadable(io::ErrorKind::Other)
    );
}

/// Endless zeros, endless marks, endless copies of one good record: left at the limit, with little
/// memory. The limit of bytes is lowered so that the test ends soon.
#[test]
fn endless_files() {
    struct Cycle(Vec<u8>, usize);
    impl Read for Cycle {
        fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
            for byte in &mut *out {
                *byte = self.0[self.1];
                self.1 = (self.1 + 1) % self.0.len();
            }
            Ok(out.len())
        }
    }
    let limits = ReadLimits {
        bytes: 16 << 20,
        items: 3_000,
        failures: 10_000,
    };
    let mut forged = bytes_of(&log(ONE, 1));
    *forged.last_mut().unwrap() ^= 1;
    for (pattern, class) in [
        (vec![0], "bytes"),
        (MARK[..6].to_vec(), "bytes"),
        (MARK.to_vec(), "failures"),
        (forged, "failures"),
        (bytes_of(&log(ONE, 1)), "items"),
    ] {
        let mut items = 0;
        let mut last = None;
        for found in ItemScanner::new(Cycle(pattern, 0)).limits(limits) {
            match found {
                Found::Damage(damage) if damage.reason == DamageReason::OverLimit(class) => {
                    last = Some(damage);
                }
                Found::Damage(_) => {}
                _ => items += 1,
            }
        }
        assert!(last.is_some(), "{class}");
        assert!(items <= limits.items);
    }
    assert_little_memory();
}

/// Looks like an item 30,000 times over, each of another kind of failure: 10,000 are looked into.
#[test]
fn fake_marks_and_forged_signatures() {
    let good = bytes_of(&log(ONE, 1));
    let mut forged = good.clone();
    *forged.last_mut().unwrap() ^= 1;
    let huge = [&MARK[..], &[0x5a, 0, 1, 0, 0], &[0; 20]].concat();
    for fake in [&MARK[..], &forged, &huge, &good[..good.len() - 1]] {
        let bytes = fake.repeat(30_000);
        let mut scanner = ItemScanner::new(&bytes[..]);
        let found: Vec<_> = scanner.by_ref().collect();
        let Some(Found::Damage(last)) = found.last() else {
            panic!("{found:?}");
        };
        assert_eq!(last.reason, DamageReason::OverLimit("failures"));
        assert_eq!(last.offset + last.length, bytes.len() as u64);
        assert!(
            last.length >= bytes.len() as u64 / 2,
            "the rest was looked into"
        );
    }
    assert_little_memory();
}

/// Fakes laid over each other so that every mark declares the longest payload.
#[test]
fn fake_marks_that_each_claim_what_follows() {
    let claim = [&MARK[..], &[0x59, 0xff, 0xff]].concat();
    let bytes = claim.repeat(20_000);
    let found: Vec<_> = ItemScanner::new(&bytes[..]).collect();
    let Some(Found::Damage(last)) = found.last() else {
        panic!("{found:?}");
    };
    assert_eq!(last.reason, DamageReason::OverLimit("failures"));
}

/// Tiny records in great number, each at a place of its own and no two next to each other: more
/// places than are kept track of. Nothing is lost but the overview, and that is said.
#[test]
fn scattered_places_in_great_number() {
    let count = 70_000;
    let stream = (0..count).flat_map(|at| item_at(at * 2 + 2, Some(ID)));
    let bytes: Vec<u8> = stream.collect();
    // As held, so that the signatures, which are not the point, need not be checked.
    let mut reader = BundleReader::new(&bytes[..]).known(|_| true);
    let held = reader.by_ref().count();
    let report = reader.finish();
    assert_eq!((held as u64, report.records), (count, count));
    assert!(report.lost_track && !report.is_whole());
    assert!(report.missing.len() <= 65_536);
    assert_little_memory();
}

const ID: winze_sync_format::RecordId = winze_sync_format::RecordId([5; 32]);

/// Millions of the smallest items that can be: the count ends at its limit.
fn tiny_items(limit: u64) {
    struct Tiny(Vec<u8>, u64);
    impl Read for Tiny {
        fn read(&mut self, out: &mut [u8]) -> io::Result<usize> {
            let whole = out.len() / self.0.len();
            for at in 0..whole {
                let at = at * self.0.len();
                out[at..at + self.0.len()].copy_from_slice(&self.0);
            }
            self.1 += whole as u64;
            Ok(whole * self.0.len())
        }
    }
    let mut payload = vec![0xa4, 0, 2, 1, 3, 2];
    payload.extend_from_slice(&super::common::string(&log_id(ONE).0));
    payload.extend_from_slice(&[3, 0]);
    let item = wrap(ONE, &payload);
    assert!(item.len() < 120, "{}", item.len());
    let limits = ReadLimits {
        items: limit,
        bytes: (limit + 1_000) * item.len() as u64,
        ..ReadLimits::default()
    };
    let mut reader = BundleReader::new(Tiny(item, 0))
        .limits(limits)
        .known(|_| true);
    let mut held = 0;
    for event in &mut reader {
        held += u64::from(matches!(event, BundleEvent::Held(_)));
    }
    assert_eq!(held, limit);
    let report = reader.finish();
    let reason = report.damage[0].reason;
    assert_eq!(reason, DamageReason::OverLimit("items"));
    assert_little_memory();
}

#[test]
fn tiny_items_without_number() {
    tiny_items(200_000);
}

#[test]
#[ignore = "five million items and a gigabyte; some 20 s in a release build"]
fn tiny_items_to_the_limit_of_the_format() {
    tiny_items(ReadLimits::default().items);
}

/// Many logs, one record each: the unpacked keys that are kept do not grow without end.
#[test]
fn records_of_very_many_logs() {
    let one_of = |number: u16| -> SignedRecord {
        let mut seed = [3; 32];
        seed[..2].copy_from_slice(&number.to_be_bytes());
        log(seed, 1).remove(0)
    };
    let mut records: Vec<_> = (0..1_500).map(one_of).collect();
    records.sort_by_key(SignedRecord::reference);
    let found = read(&bytes_of(&records));
    assert_eq!(found.records, records);
    assert_little_memory();
}
