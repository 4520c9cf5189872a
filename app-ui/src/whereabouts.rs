//! The machine and the installation this program runs in, as digests: so that a logbook's
//! folder that was copied to another machine is noticed.
//!
//! Not here: where the folder itself stands; the logbook looks at that.

use std::path::Path;

use winze_core::store::Whereabouts;

/// Files in which systems name the machine.
const MACHINE_FILES: [&str; 2] = ["/etc/machine-id", "/var/lib/dbus/machine-id"];
/// Name of the file that names this setting-up of the program.
const INSTALLATION: &str = "installation";

/// Finds out where the program runs; none where this account has no folder to remember it in.
#[must_use]
pub fn find() -> Option<Whereabouts> {
    let folders = directories::ProjectDirs::from("", "", "winze")?;
    let installation = installation_in(folders.data_local_dir())?;
    Some(Whereabouts::of(&machine(), installation))
}

fn machine() -> String {
    MACHINE_FILES
        .iter()
        .find_map(|path| std::fs::read_to_string(path).ok())
        // Where no file names it, its network name is better than nothing.
        .or_else(|| std::env::var("COMPUTERNAME").ok())
        .map(|name| name.trim().to_owned())
        .unwrap_or_default()
}

/// Reads the random number that names this setting-up, or draws one.
fn installation_in(folder: &Path) -> Option<[u8; 32]> {
    let path = folder.join(INSTALLATION);
    if let Ok(bytes) = std::fs::read(&path) {
        return bytes.try_into().ok();
    }
    let mut drawn = [0; 32];
    getrandom::fill(&mut drawn).ok()?;
    std::fs::create_dir_all(folder).ok()?;
    std::fs::write(&path, drawn).ok()?;
    Some(drawn)
}

#[cfg(test)]
mod tests {
    use super::{installation_in, machine};

    #[test]
    fn an_installation_keeps_its_number_and_another_has_another() {
        let (one, other) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
        let first = installation_in(one.path()).unwrap();
        assert_eq!(installation_in(one.path()), Some(first));
        assert_ne!(installation_in(other.path()), Some(first));
        assert_eq!(machine(), machine());
    }
}
