//! Names: data when they stand in a record, and never a path. What a reader shows of them is the
//! reader's business; here they are kept as they are and cannot leave their folder.

use winze_sync_format::disk::{Disk as _, RealDisk};
use winze_sync_format::{Draft, LogHead, Opened, open_item, seal};

use super::common::{ONE, draft, key, log, packed, read};

/// Text that changes its direction, hides, or looks like other text.
const TRICKY: [&str; 9] = [
    "A. Other\u{202e}reht0 .B",
    "\u{2066}x\u{2069}\u{200f}\u{061c}",
    "A.\u{200b}Other\u{feff}",
    "A\u{0}B",
    "line\none\r\u{1b}[2Jtwo\u{7}",
    "\u{410}. Other",
    "e\u{301}",
    "\u{10ffff}\u{fffe}",
    "",
];

/// Labels that mean a place when they are taken for a path.
const PATHS: [&str; 18] = [
    "..",
    "../../etc/cron.d/x",
    "..\\..\\startup",
    "/etc/passwd",
    "\\\\host\\share",
    "C:\\boot",
    "c:",
    "tablet:stream",
    "CON",
    "nul.txt",
    "LPT1",
    "com1.winze",
    "~/.profile",
    "-rf",
    "a/./b",
    "name. ",
    "%2e%2e%2f",
    "$(reboot)`x`;|&*?",
];

#[test]
fn bidirectional_and_control_characters_in_names() {
    let key = key(ONE);
    for name in TRICKY {
        let draft = Draft {
            person: name.into(),
            ..draft(name)
        };
        let record = seal(&key, &mut LogHead::empty(key.log_id()), draft).unwrap();
        let Ok((Opened::Record(opened), _)) = open_item(record.item()) else {
            panic!("{name:?}");
        };
        assert_eq!(opened.record().person, name, "kept as it is");
        // What is shown of a record in logs and errors shows no name at all.
        assert!(format!("{opened:?}").is_ascii());
    }
}

#[test]
fn labels_that_are_paths_devices_or_streams() {
    let records = log(ONE, 2);
    for label in PATHS.into_iter().chain(TRICKY) {
        let (name, bytes) = packed(label, &records);
        let (stem, end) = name.rsplit_once('.').unwrap();
        assert_eq!(end, "winze", "{name}");
        assert!(name.len() <= 80, "{name}");
        let plain = |letter: char| letter.is_ascii_lowercase() || letter.is_ascii_digit();
        assert!(
            stem.chars().all(|letter| plain(letter) || letter == '-'),
            "{name}"
        );
        assert!(stem.starts_with(plain), "{name}");
        // A device's name is reserved when nothing but an ending follows it.
        let log = key(ONE).log_id().short();
        assert!(stem.contains(&format!("-{log}-0-1-")), "{name}");
        let found = read(&bytes);
        assert!(found.report.is_whole());
        assert_eq!(found.report.header.unwrap().label, label, "kept as it is");
    }
}

/// The label is cut to 16 letters of the name, wherever that falls.
#[test]
fn labels_without_end() {
    let records = log(ONE, 1);
    for label in ["x".repeat(4096), "-".repeat(4000), "\u{1f6b0}".repeat(1000)] {
        let (name, _) = packed(&label, &records);
        assert!(name.len() <= 80 && name.is_ascii(), "{name}");
    }
}

/// What a file is called says nothing about what it holds.
#[test]
fn names_that_claim_what_the_content_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let records = log(ONE, 2);
    let (name, good) = packed("A", &records);
    let mut spoilt = good.clone();
    spoilt[good.len() / 2] ^= 1;
    let path = folder.path().join(&name);
    std::fs::write(&path, &spoilt).unwrap();
    let read = |path| winze_sync_format::bundle::read_bundle(RealDisk.open(path).unwrap());
    assert!(!read(&path).report.is_whole(), "{name}");
    let plain = folder.path().join("holiday.jpg");
    std::fs::write(&plain, &good).unwrap();
    assert!(read(&plain).report.is_whole());
}

/// Folder listings give no name that leads out of the folder.
#[test]
fn listings_give_names_of_files_alone() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("a.winze"), b"").unwrap();
    std::fs::create_dir(folder.path().join("b.winze")).unwrap();
    #[cfg(unix)]
    std::os::unix::fs::symlink("/etc/passwd", folder.path().join("c.winze")).unwrap();
    assert_eq!(RealDisk.file_names(folder.path()).unwrap(), ["a.winze"]);
}
