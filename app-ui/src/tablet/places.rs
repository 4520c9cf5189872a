//! Where a bundle can be written: sticks and drives that are in, found by looking where the
//! system mounts them. Only looks; mounting and ejecting is the system's.

use std::path::{Path, PathBuf};

use super::session::Place;

/// Folders under which Linux systems mount what is put in, one level per user where `true`.
const MOUNTS: [(&str, bool); 3] = [("/run/media", true), ("/media", true), ("/mnt", false)];

/// Lists the sticks and drives that are in, by name, without duplicates.
#[must_use]
pub fn mounted() -> Vec<Place> {
    let mut found = Vec::new();
    for (root, is_per_user) in MOUNTS {
        for folder in folders(Path::new(root)) {
            // A stick may also lie directly under the folder that is otherwise per user.
            let inside = if is_per_user {
                folders(&folder)
            } else {
                Vec::new()
            };
            if inside.is_empty() || is_mount(&folder) {
                found.push(folder);
            } else {
                found.extend(inside);
            }
        }
    }
    if cfg!(windows) {
        // A and B are floppies and C is the system's own drive.
        let drives = ('D'..='Z').map(|letter| PathBuf::from(format!("{letter}:\\")));
        found.extend(drives.filter(|drive| drive.is_dir()));
    }
    found.retain(|folder| cfg!(windows) || is_mount(folder));
    found.into_iter().map(place).collect()
}

fn folders(root: &Path) -> Vec<PathBuf> {
    let Ok(entries) = std::fs::read_dir(root) else {
        return Vec::new();
    };
    let mut found: Vec<PathBuf> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .filter(|path| path.is_dir())
        .collect();
    found.sort();
    found
}

/// Whether something is mounted here: an empty mount point would take the bundle onto the
/// tablet's own disk, and the stick would leave without it.
#[cfg(unix)]
fn is_mount(folder: &Path) -> bool {
    use std::os::unix::fs::MetadataExt as _;
    let device = |path: &Path| std::fs::metadata(path).map(|data| data.dev()).ok();
    match (device(folder), folder.parent().and_then(device)) {
        (Some(own), Some(around)) => own != around,
        _ => false,
    }
}

#[cfg(not(unix))]
fn is_mount(folder: &Path) -> bool {
    folder.is_dir()
}

fn place(path: PathBuf) -> Place {
    let name = path.file_name().map_or_else(
        || path.display().to_string(),
        |name| name.to_string_lossy().into_owned(),
    );
    Place {
        label: format!("Stick or drive {name}"),
        path,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn folder_on_the_same_disk_is_no_stick() {
        let folder = tempfile::tempdir().expect("a folder");
        let inside = folder.path().join("stick");
        std::fs::create_dir(&inside).expect("a folder");
        assert!(!is_mount(&inside));
        assert_eq!(folders(folder.path()), [inside]);
    }

    #[test]
    fn folder_that_is_gone_holds_nothing() {
        assert!(folders(Path::new("/no/such/folder")).is_empty());
        assert!(!is_mount(Path::new("/no/such/folder")));
    }

    #[test]
    fn place_is_called_by_its_last_name() {
        assert_eq!(
            place("/media/anna/BLUE".into()).label,
            "Stick or drive BLUE"
        );
    }
}
