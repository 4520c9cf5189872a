//! Tests of both disks.

use std::io::{ErrorKind, Read as _};
use std::path::PathBuf;

use super::*;

fn read(disk: &dyn Disk, path: &Path) -> Vec<u8> {
    let mut bytes = Vec::new();
    disk.open(path).unwrap().read_to_end(&mut bytes).unwrap();
    bytes
}

/// What both disks promise alike.
fn keeps_its_promises(disk: &dyn Disk, folder: &Path) {
    let (a, b) = (folder.join("a"), folder.join("b"));
    assert!(!disk.exists(&a));
    assert_eq!(disk.open(&a).err().unwrap().kind(), ErrorKind::NotFound);
    assert_eq!(
        disk.open_append(&a).err().unwrap().kind(),
        ErrorKind::NotFound
    );
    let mut file = disk.create(&a).unwrap();
    file.append(b"one").unwrap();
    file.append(b"two").unwrap();
    assert_eq!(file.length().unwrap(), 6);
    file.sync().unwrap();
    drop(file);
    assert_eq!(
        disk.create(&a).err().unwrap().kind(),
        ErrorKind::AlreadyExists
    );
    assert_eq!(
        disk.create_private(&a).err().unwrap().kind(),
        ErrorKind::AlreadyExists
    );
    disk.open_append(&a).unwrap().append(b"three").unwrap();
    assert_eq!(read(disk, &a), b"onetwothree");
    assert_eq!(disk.length(&a).unwrap(), 11);
    disk.create_private(&b).unwrap().append(b"x").unwrap();
    assert_eq!(
        disk.rename(&a, &b).unwrap_err().kind(),
        ErrorKind::AlreadyExists
    );
    assert_eq!(disk.file_names(folder).unwrap(), ["a", "b"]);
    disk.remove(&b).unwrap();
    disk.rename(&a, &b).unwrap();
    disk.sync_folder(folder).unwrap();
    assert_eq!(disk.file_names(folder).unwrap(), ["b"]);
    let mut bytes = Vec::new();
    disk.open_uncached(&b)
        .unwrap()
        .read_to_end(&mut bytes)
        .unwrap();
    assert!(bytes.starts_with(b"onetwo"));
}

#[test]
fn the_real_disk_keeps_its_promises() {
    let folder = tempfile::tempdir().unwrap();
    keeps_its_promises(&RealDisk, folder.path());
    let deep = folder.path().join("x/y");
    RealDisk.create_folder(&deep).unwrap();
    assert!(RealDisk.exists(&deep));
}

#[test]
fn the_faulty_disk_keeps_its_promises() {
    let disk = FaultyDisk::new();
    disk.create_folder(Path::new("/x")).unwrap();
    keeps_its_promises(&disk, Path::new("/x"));
}

#[test]
fn folders_are_no_files() {
    let folder = tempfile::tempdir().unwrap();
    assert!(RealDisk.open(folder.path()).is_err());
    assert!(RealDisk.open_append(folder.path()).is_err());
    assert!(RealDisk.length(folder.path()).is_err());
}

#[cfg(unix)]
#[test]
fn links_pipes_and_devices_are_no_files() {
    let folder = tempfile::tempdir().unwrap();
    let (file, link) = (folder.path().join("file"), folder.path().join("link"));
    std::fs::write(&file, b"x").unwrap();
    std::os::unix::fs::symlink(&file, &link).unwrap();
    let pipe = folder.path().join("pipe");
    rustix::fs::mkfifoat(rustix::fs::CWD, &pipe, rustix::fs::Mode::RUSR).unwrap();
    for path in [link, pipe, PathBuf::from("/dev/null")] {
        assert!(RealDisk.open(&path).is_err(), "{path:?}");
        assert!(RealDisk.open_append(&path).is_err(), "{path:?}");
        assert!(RealDisk.length(&path).is_err(), "{path:?}");
    }
    assert_eq!(RealDisk.file_names(folder.path()).unwrap(), ["file"]);
}

#[cfg(unix)]
#[test]
fn a_private_file_is_for_its_owner_alone() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("key");
    RealDisk.create_private(&path).unwrap();
    assert_eq!(path.metadata().unwrap().permissions().mode() & 0o777, 0o600);
}

#[test]
fn a_crash_drops_bytes_and_names_that_were_not_synced() {
    let disk = FaultyDisk::new();
    let folder = Path::new("/x");
    let (kept, unnamed) = (folder.join("kept"), folder.join("unnamed"));
    let mut file = disk.create(&kept).unwrap();
    file.append(b"synced").unwrap();
    file.sync().unwrap();
    disk.sync_folder(folder).unwrap();
    file.append(b" not synced").unwrap();
    let mut other = disk.create(&unnamed).unwrap();
    other.append(b"synced").unwrap();
    other.sync().unwrap();
    disk.crash();
    let files = disk.files();
    assert_eq!(files.len(), 1);
    assert_eq!(files[&kept], b"synced");
    assert!(file.append(b"x").is_err() && file.sync().is_err());
}

#[test]
fn a_rename_lasts_only_once_its_folder_is_synced() {
    let disk = FaultyDisk::new();
    let (from, to) = (Path::new("/x/from"), Path::new("/x/to"));
    disk.put(from, b"x");
    disk.rename(from, to).unwrap();
    assert!(disk.exists(to));
    disk.crash();
    assert!(disk.exists(from) && !disk.exists(to));
    disk.rename(from, to).unwrap();
    disk.sync_folder(Path::new("/x")).unwrap();
    disk.crash();
    assert!(disk.exists(to) && !disk.exists(from));
}

/// Real systems mark the pages of a failed sync as clean: asking again reports success.
#[test]
fn a_second_sync_after_a_failed_one_lies() {
    let disk = FaultyDisk::new();
    let path = Path::new("/x/a");
    let mut file = disk.create(path).unwrap();
    disk.sync_folder(Path::new("/x")).unwrap();
    file.append(b"lost").unwrap();
    disk.fail_at(disk.operations(), Fault::Device);
    assert!(file.sync().is_err());
    file.append(b"kept").unwrap();
    file.sync().unwrap();
    assert_eq!(disk.files()[path], b"lostkept");
    disk.crash();
    assert_eq!(disk.files()[path], b"\0\0\0\0kept");
}

#[test]
fn faults_come_at_their_operation() {
    let disk = FaultyDisk::new();
    let mut file = disk.create(Path::new("/x/a")).unwrap();
    disk.fail_at(disk.operations() + 1, Fault::ShortWrite);
    file.append(b"1234").unwrap();
    assert_eq!(
        file.append(b"5678").unwrap_err().kind(),
        ErrorKind::StorageFull
    );
    file.append(b"9").unwrap();
    assert_eq!(disk.files()[Path::new("/x/a")], b"1234569");
    disk.fail_from(disk.operations(), Fault::NoSpace);
    assert!(file.append(b"x").is_err() && file.append(b"x").is_err());
    disk.repair();
    file.append(b"x").unwrap();
}

#[test]
fn a_lucky_crash_keeps_what_it_is_told_to() {
    let disk = FaultyDisk::new();
    let path = Path::new("/x/a");
    let mut file = disk.create(path).unwrap();
    file.append(b"123").unwrap();
    file.sync().unwrap();
    file.append(b"456").unwrap();
    disk.crash_keeping(|_, unsynced| unsynced - 1);
    assert_eq!(disk.files()[path], b"12345");
    disk.crash();
    assert_eq!(disk.files()[path], b"12345");
}
