//! An in-memory disk that fails on demand and can lose its power.
//!
//! It keeps what was written apart from what was synced, for bytes and for names, so that a test
//! can ask at any moment: what would be left now? Failed syncs behave as real ones do: the bytes
//! are gone for good and the next sync reports success.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard};

use super::{AppendFile, Disk};

/// What goes wrong at the chosen operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// No space left; nothing of the operation happens.
    NoSpace,
    /// The device answers with an error; nothing of the operation happens.
    Device,
    /// Half of the bytes are appended, then no space is left. As `NoSpace` for other operations.
    ShortWrite,
}

/// The in-memory disk. Clones share one state, as processes share a disk.
#[derive(Debug, Clone, Default)]
pub struct FaultyDisk {
    state: Arc<Mutex<State>>,
}

#[derive(Debug, Default)]
struct State {
    files: Vec<Content>,
    names: BTreeMap<PathBuf, usize>,
    synced_names: BTreeMap<PathBuf, usize>,
    folders: BTreeSet<PathBuf>,
    operations: u64,
    fault: Option<(u64, Fault)>,
    lasting: bool,
    /// Rises with each crash; files opened before it answer no more.
    starts: u64,
}

#[derive(Debug, Default, Clone)]
struct Content {
    bytes: Vec<u8>,
    synced: usize,
    /// Parts that a failed sync threw away.
    lost: Vec<std::ops::Range<usize>>,
}

impl Content {
    fn after_crash(&self) -> Vec<u8> {
        let mut kept = self.bytes[..self.synced].to_vec();
        for lost in &self.lost {
            let end = lost.end.min(kept.len());
            if lost.start < end {
                kept[lost.start..end].fill(0);
            }
        }
        kept
    }
}

impl FaultyDisk {
    /// An empty disk that works.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Operations so far: creations, appends, syncs, renames, removals, folder syncs, reads.
    #[must_use]
    pub fn operations(&self) -> u64 {
        self.lock().operations
    }

    /// Makes operation number `operation` (counted from 0) fail once.
    pub fn fail_at(&self, operation: u64, fault: Fault) {
        let mut state = self.lock();
        state.fault = Some((operation, fault));
        state.lasting = false;
    }

    /// Makes every operation from number `operation` on fail.
    pub fn fail_from(&self, operation: u64, fault: Fault) {
        let mut state = self.lock();
        state.fault = Some((operation, fault));
        state.lasting = true;
    }

    /// Lets everything succeed again.
    pub fn repair(&self) {
        self.lock().fault = None;
    }

    /// Loses power: everything unsynced, bytes and names, is gone; open files answer no more.
    pub fn crash(&self) {
        let mut state = self.lock();
        for file in &mut state.files {
            let bytes = file.after_crash();
            *file = Content {
                synced: bytes.len(),
                bytes,
                lost: Vec::new(),
            };
        }
        state.names = state.synced_names.clone();
        state.starts += 1;
        state.fault = None;
    }

    /// Loses power in a luckier way: names are kept, and of each file the first `keep(path,
    /// unsynced length)` unsynced bytes.
    pub fn crash_keeping(&self, mut keep: impl FnMut(&Path, usize) -> usize) {
        let mut state = self.lock();
        for (name, index) in state.names.clone() {
            let file = &mut state.files[index];
            let unsynced = file.bytes.len() - file.synced;
            let end = file.synced + keep(&name, unsynced).min(unsynced);
            file.bytes.truncate(end);
            file.synced = end;
            let bytes = file.after_crash();
            *file = Content {
                synced: bytes.len(),
                bytes,
                lost: Vec::new(),
            };
        }
        state.synced_names = state.names.clone();
        state.starts += 1;
        state.fault = None;
    }

    /// All files as they stand now, synced or not.
    #[must_use]
    pub fn files(&self) -> BTreeMap<PathBuf, Vec<u8>> {
        let state = self.lock();
        let content = |index: &usize| state.files[*index].bytes.clone();
        state
            .names
            .iter()
            .map(|(name, index)| (name.clone(), content(index)))
            .collect()
    }

    /// Puts a file there, synced, as if it had always been.
    pub fn put(&self, path: &Path, bytes: &[u8]) {
        let mut state = self.lock();
        let file = Content {
            bytes: bytes.to_vec(),
            synced: bytes.len(),
            lost: Vec::new(),
        };
        state.files.push(file);
        let index = state.files.len() - 1;
        state.names.insert(path.to_owned(), index);
        state.synced_names.insert(path.to_owned(), index);
    }

    fn lock(&self) -> MutexGuard<'_, State> {
        // A panic elsewhere leaves the state whole: every change is made in one step.
        self.state
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    fn new_file(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let mut state = self.lock();
        state.operate()?;
        if state.names.contains_key(path) {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        state.files.push(Content::default());
        let index = state.files.len() - 1;
        state.names.insert(path.to_owned(), index);
        Ok(self.handle(index, &state))
    }

    fn handle(&self, index: usize, state: &State) -> Box<dyn AppendFile> {
        Box::new(FaultyFile {
            disk: self.clone(),
            index,
            start: state.starts,
        })
    }
}

impl State {
    /// Counts an operation and lets it fail if it is its turn.
    fn operate(&mut self) -> io::Result<()> {
        match self.turn() {
            None => Ok(()),
            Some(Fault::Device) => Err(io::Error::other("device error")),
            Some(Fault::NoSpace | Fault::ShortWrite) => Err(io::ErrorKind::StorageFull.into()),
        }
    }

    fn turn(&mut self) -> Option<Fault> {
        let now = self.operations;
        self.operations += 1;
        let (at, fault) = self.fault?;
        (now == at || (self.lasting && now > at)).then_some(fault)
    }

    fn find(&self, path: &Path) -> io::Result<usize> {
        self.names
            .get(path)
            .copied()
            .ok_or_else(|| io::ErrorKind::NotFound.into())
    }
}

impl Disk for FaultyDisk {
    fn create(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        self.new_file(path)
    }

    fn create_private(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        self.new_file(path)
    }

    fn open_append(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let mut state = self.lock();
        state.operate()?;
        let index = state.find(path)?;
        Ok(self.handle(index, &state))
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn Read + Send>> {
        let mut state = self.lock();
        state.operate()?;
        let index = state.find(path)?;
        Ok(Box::new(io::Cursor::new(state.files[index].bytes.clone())))
    }

    /// Reads what the medium holds, which is not what was written after a failed sync.
    fn open_uncached(&self, path: &Path) -> io::Result<Box<dyn Read + Send>> {
        let mut state = self.lock();
        state.operate()?;
        let index = state.find(path)?;
        Ok(Box::new(io::Cursor::new(state.files[index].after_crash())))
    }

    fn length(&self, path: &Path) -> io::Result<u64> {
        let state = self.lock();
        Ok(state.files[state.find(path)?].bytes.len() as u64)
    }

    fn exists(&self, path: &Path) -> bool {
        let state = self.lock();
        state.names.contains_key(path) || state.folders.contains(path)
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut state = self.lock();
        state.operate()?;
        if state.names.contains_key(to) {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        let index = state.find(from)?;
        state.names.remove(from);
        state.names.insert(to.to_owned(), index);
        Ok(())
    }

    fn replace(&self, from: &Path, to: &Path) -> io::Result<()> {
        let mut state = self.lock();
        state.operate()?;
        let index = state.find(from)?;
        state.names.remove(from);
        state.names.insert(to.to_owned(), index);
        Ok(())
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        let mut state = self.lock();
        state.operate()?;
        state.find(path)?;
        state.names.remove(path);
        Ok(())
    }

    fn create_folder(&self, path: &Path) -> io::Result<()> {
        let mut state = self.lock();
        state.operate()?;
        state.folders.extend(path.ancestors().map(Path::to_owned));
        Ok(())
    }

    fn file_names(&self, folder: &Path) -> io::Result<Vec<String>> {
        let state = self.lock();
        let here = state
            .names
            .keys()
            .filter(|name| name.parent() == Some(folder));
        let names = here.filter_map(|name| name.file_name()?.to_str().map(str::to_owned));
        Ok(names.collect())
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        let mut state = self.lock();
        state.operate()?;
        let inside = |name: &Path| name.parent() == Some(folder);
        state.synced_names.retain(|name, _| !inside(name));
        let now: Vec<_> = state
            .names
            .iter()
            .filter(|(name, _)| inside(name))
            .map(|(name, index)| (name.clone(), *index))
            .collect();
        state.synced_names.extend(now);
        Ok(())
    }
}

struct FaultyFile {
    disk: FaultyDisk,
    index: usize,
    start: u64,
}

impl FaultyFile {
    fn state(&self) -> io::Result<MutexGuard<'_, State>> {
        let state = self.disk.lock();
        if state.starts == self.start {
            Ok(state)
        } else {
            Err(io::Error::other("opened before the power was lost"))
        }
    }
}

impl AppendFile for FaultyFile {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut state = self.state()?;
        let outcome = match state.turn() {
            None => (bytes.len(), Ok(())),
            Some(Fault::NoSpace) => (0, Err(io::ErrorKind::StorageFull.into())),
            Some(Fault::ShortWrite) => (bytes.len() / 2, Err(io::ErrorKind::StorageFull.into())),
            Some(Fault::Device) => (0, Err(io::Error::other("device error"))),
        };
        state.files[self.index]
            .bytes
            .extend_from_slice(&bytes[..outcome.0]);
        outcome.1
    }

    fn sync(&mut self) -> io::Result<()> {
        let mut state = self.state()?;
        let failed = state.operate();
        let file = &mut state.files[self.index];
        let unsynced = file.synced..file.bytes.len();
        if failed.is_err() {
            file.lost.push(unsynced);
        } else {
            file.synced = unsynced.end;
        }
        failed
    }

    fn length(&self) -> io::Result<u64> {
        Ok(self.state()?.files[self.index].bytes.len() as u64)
    }
}
