//! The secret half of a log: makes signatures, lives in a file of its own.
//!
//! A key must never be copied to a second device or be part of a backup: two holders of one key
//! write two logs under one name.

use std::io::Read as _;
use std::path::Path;

use ed25519_dalek::{Signer as _, SigningKey};

use crate::canonical::{Encoder, Reader};
use crate::disk::Disk;
use crate::error::{Error, IoContext as _, Result};
use crate::id::LogId;

/// Longest key file worth reading, in bytes.
const KEY_FILE_MAX: u64 = 256;

/// The Ed25519 key of one log. Debug shows the log id, never the secret.
pub struct LogKey {
    key: SigningKey,
}

impl LogKey {
    /// A new key from the system's random bytes.
    ///
    /// # Errors
    /// [`Error::Random`] when the system gives none.
    pub fn generate() -> Result<Self> {
        let mut seed = [0u8; 32];
        getrandom::fill(&mut seed).map_err(|source| Error::Random { source })?;
        Ok(Self::from_seed(&seed))
    }

    /// The key of a 32-byte seed (RFC 8032 section 5.1.5).
    #[must_use]
    pub fn from_seed(seed: &[u8; 32]) -> Self {
        Self {
            key: SigningKey::from_bytes(seed),
        }
    }

    /// The name of the log: the public half.
    #[must_use]
    pub fn log_id(&self) -> LogId {
        LogId(self.key.verifying_key().to_bytes())
    }

    /// The same key once more, for one holder that opens its log in two steps.
    #[must_use]
    pub fn again(&self) -> Self {
        Self {
            key: self.key.clone(),
        }
    }

    /// The Ed25519 signature of some bytes.
    pub(crate) fn sign(&self, message: &[u8]) -> [u8; 64] {
        self.key.sign(message).to_bytes()
    }

    /// Writes the key to a new file that only its owner can read, and makes it durable.
    ///
    /// # Errors
    /// [`Error::Io`] when the file exists already or cannot be written.
    pub fn save(&self, disk: &dyn Disk, path: &Path) -> Result<()> {
        let bytes = Encoder::new()
            .map(3)
            .key(0)
            .uint(1)
            .key(1)
            .bytes(self.key.as_bytes())
            .key(2)
            .bytes(&self.log_id().0)
            .finish()?;
        // Under its name the key is whole or not there at all: a crash must not leave half a key,
        // with which no logbook could be opened or made.
        let part = path.with_extension("part");
        if disk.exists(&part) {
            disk.remove(&part).at("remove", &part)?;
        }
        let mut file = disk.create_private(&part).at("create", &part)?;
        file.append(&bytes).at("write", &part)?;
        file.sync().at("sync", &part)?;
        drop(file);
        let named = disk.rename(&part, path).at("rename to", path);
        if named.is_err() {
            // No second secret stays behind.
            let _ = disk.remove(&part);
        }
        named?;
        if let Some(folder) = path.parent() {
            disk.sync_folder(folder).at("sync folder", folder)?;
        }
        Ok(())
    }

    /// Reads a key file; the stored log id must fit the stored seed.
    ///
    /// # Errors
    /// [`Error::Io`] when it cannot be read, [`Error::KeyFile`] when it holds no usable key.
    pub fn load(disk: &dyn Disk, path: &Path) -> Result<Self> {
        let file = disk.open(path).at("open", path)?;
        let mut bytes = Vec::new();
        file.take(KEY_FILE_MAX)
            .read_to_end(&mut bytes)
            .at("read", path)?;
        let damaged = |what| Error::KeyFile {
            path: path.to_owned(),
            what,
        };
        let (seed, log) = decode(&bytes).map_err(|_| damaged("not a key file, or damaged"))?;
        let key = Self::from_seed(&seed);
        if key.log_id() != log {
            return Err(damaged("its two halves do not fit"));
        }
        Ok(key)
    }
}

fn decode(bytes: &[u8]) -> Result<([u8; 32], LogId)> {
    let mut reader = Reader::new(bytes);
    reader.map()?;
    reader.expect_key(0)?;
    if reader.uint()? != 1 {
        let offset = reader.offset();
        return Err(Error::BadField {
            offset,
            field: "version",
            what: "unknown",
        });
    }
    reader.expect_key(1)?;
    let seed = reader.fixed_bytes()?;
    reader.expect_key(2)?;
    let log = LogId(reader.fixed_bytes()?);
    reader.end()?;
    reader.finish()?;
    Ok((seed, log))
}

impl std::fmt::Debug for LogKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "LogKey({}..)", self.log_id().short())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::disk::{Fault, FaultyDisk};

    const PATH: &str = "/logbook/key";

    #[test]
    fn a_saved_key_loads_even_after_losing_power() {
        let disk = FaultyDisk::new();
        let key = LogKey::generate().unwrap();
        key.save(&disk, Path::new(PATH)).unwrap();
        disk.crash();
        let loaded = LogKey::load(&disk, Path::new(PATH)).unwrap();
        assert_eq!(loaded.log_id(), key.log_id());
        assert_eq!(loaded.sign(b"x"), key.sign(b"x"));
        assert_ne!(LogKey::generate().unwrap().log_id(), key.log_id());
    }

    #[test]
    fn a_key_file_is_never_written_over() {
        let disk = FaultyDisk::new();
        LogKey::from_seed(&[1; 32])
            .save(&disk, Path::new(PATH))
            .unwrap();
        let again = LogKey::from_seed(&[2; 32]).save(&disk, Path::new(PATH));
        assert!(matches!(
            again,
            Err(Error::Io {
                action: "rename to",
                ..
            })
        ));
        let kept = LogKey::load(&disk, Path::new(PATH)).unwrap();
        assert_eq!(kept.log_id(), LogKey::from_seed(&[1; 32]).log_id());
        assert!(!disk.exists(&Path::new(PATH).with_extension("part")));
    }

    #[test]
    fn a_key_that_could_not_be_saved_says_so() {
        for at in 0..4 {
            let disk = FaultyDisk::new();
            disk.fail_at(at, Fault::NoSpace);
            assert!(
                LogKey::from_seed(&[1; 32])
                    .save(&disk, Path::new(PATH))
                    .is_err(),
                "{at}"
            );
        }
    }

    #[test]
    fn every_damaged_key_file_is_refused() {
        let disk = FaultyDisk::new();
        LogKey::from_seed(&[1; 32])
            .save(&disk, Path::new(PATH))
            .unwrap();
        let good = disk.files().remove(Path::new(PATH)).unwrap();
        for bit in 0..good.len() * 8 {
            let mut bad = good.clone();
            bad[bit / 8] ^= 1 << (bit % 8);
            disk.put(Path::new(PATH), &bad);
            let outcome = LogKey::load(&disk, Path::new(PATH));
            assert!(matches!(outcome, Err(Error::KeyFile { .. })), "bit {bit}");
        }
        for cut in 0..good.len() {
            disk.put(Path::new(PATH), &good[..cut]);
            assert!(LogKey::load(&disk, Path::new(PATH)).is_err());
        }
        let missing = LogKey::load(&disk, Path::new("/logbook/other"));
        assert!(matches!(missing, Err(Error::Io { action: "open", .. })));
    }

    #[test]
    fn the_secret_is_not_shown() {
        let shown = format!("{:?}", LogKey::from_seed(&[0xab; 32]));
        assert!(
            !shown.contains("abab") && shown.starts_with("LogKey("),
            "{shown}"
        );
    }
}
