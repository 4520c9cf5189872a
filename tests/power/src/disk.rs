//! A disk in memory that writes down what is done to it. Segments, bundles and the key reach it
//! through [`Disk`], the database through the interface in `vfs`.

use std::collections::BTreeMap;
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use winze_sync_format::RecordRef;
use winze_sync_format::disk::{AppendFile, Disk};

use crate::content::Content;
use crate::medium::Medium;
use crate::vfs;

/// Something done to the disk, or told to a person meanwhile. Names are relative to the disk's root.
#[derive(Debug, Clone)]
pub enum Event {
    /// A new, empty file has this name.
    Created {
        /// The name.
        name: PathBuf,
        /// The file.
        file: usize,
    },
    /// A file has another name; what had that name is gone.
    Renamed {
        /// The old name.
        from: PathBuf,
        /// The new name.
        to: PathBuf,
    },
    /// A name is gone.
    Removed {
        /// The name.
        name: PathBuf,
    },
    /// Bytes were written.
    Written {
        /// The file.
        file: usize,
        /// Where they begin.
        offset: usize,
        /// The bytes.
        bytes: Arc<[u8]>,
    },
    /// A file was cut or grown to a length.
    Truncated {
        /// The file.
        file: usize,
        /// The length.
        length: usize,
    },
    /// Everything written to a file so far lasts.
    Synced {
        /// The file.
        file: usize,
    },
    /// The names in a folder last.
    FolderSynced {
        /// The folder.
        folder: PathBuf,
    },
    /// Somebody was told something.
    Marked(Mark),
}

/// What somebody was told, which a crash must not make untrue.
#[derive(Debug, Clone)]
pub enum Mark {
    /// An operation begins.
    Began(Operation),
    /// The logbook exists.
    Opened,
    /// These records are saved.
    Saved(Vec<RecordRef>),
    /// A bundle is whole under this name, relative to the root, with so many records.
    Packed(PathBuf, u64),
    /// A draft is kept under this name.
    Drafted(String, String),
    /// A draft is gone.
    DraftCleared(String),
    /// A bare database has committed so many rows.
    Committed(u64),
    /// A backup in this folder, relative to the root, holds every record that was promised so far.
    BackedUp(PathBuf),
    /// The operation has ended; nothing of it is under way any more.
    Ended,
}

/// What a logbook is doing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Operation {
    /// The logbook is made.
    Create,
    /// It is opened and checked.
    Start,
    /// Records are confirmed.
    Entry,
    /// A draft is kept.
    Draft,
    /// A bundle is written.
    Pack,
    /// Bundles are taken in.
    Merge,
    /// A question is answered.
    Answer,
    /// The database's journal is emptied.
    Checkpoint,
    /// The database is made anew.
    Rebuild,
    /// The logbook is copied to a second medium.
    Backup,
}

/// What a disk claims to have done and has not: the seeded faults that a check must catch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lie {
    /// Syncing a segment, bundle or key does nothing.
    SegmentSync,
    /// Syncing the database's journal does nothing.
    JournalSync,
    /// Syncing the database itself does nothing.
    DatabaseSync,
    /// Syncing a folder does nothing.
    FolderSync,
}

/// The disk. Clones are the same disk.
#[derive(Debug, Clone)]
pub struct PowerDisk {
    root: PathBuf,
    state: Arc<Mutex<State>>,
}

#[derive(Debug, Default)]
pub(crate) struct State {
    pub(crate) files: Vec<Content>,
    pub(crate) names: BTreeMap<PathBuf, usize>,
    trace: Vec<Event>,
    is_recording: bool,
    lie: Option<Lie>,
    /// Bytes that all files together may have.
    capacity: Option<usize>,
    /// Whether the database is refused its write-ahead log.
    pub(crate) refuses_wal: bool,
}

impl PowerDisk {
    /// An empty disk below a folder, which must be a real one: the lock file is a real file. The
    /// database finds the disk by the folder until [`PowerDisk::unmount`].
    #[must_use]
    pub fn mount(root: &Path) -> Self {
        let disk = Self {
            root: root.to_owned(),
            state: Arc::default(),
        };
        vfs::mount(&disk);
        disk
    }

    /// Takes the disk away from the database.
    pub fn unmount(&self) {
        vfs::unmount(&self.root);
    }

    /// The folder it lies below.
    #[must_use]
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// Starts to write down what happens. Returns the medium as it is: all of it is taken to last.
    #[must_use]
    pub fn start_recording(&self) -> Medium {
        let mut state = self.lock();
        state.trace.clear();
        state.is_recording = true;
        Medium::with(state.files.clone(), state.names.clone())
    }

    /// Stops, and returns what happened.
    #[must_use]
    pub fn stop_recording(&self) -> Vec<Event> {
        let mut state = self.lock();
        state.is_recording = false;
        std::mem::take(&mut state.trace)
    }

    /// Notes what somebody was told.
    pub fn mark(&self, mark: Mark) {
        self.lock().note(Event::Marked(mark));
    }

    /// Makes the disk lie.
    pub fn lie(&self, lie: Lie) {
        self.lock().lie = Some(lie);
    }

    /// Grants or refuses the database a write-ahead log.
    pub fn grant_wal(&self, is_granted: bool) {
        self.lock().refuses_wal = !is_granted;
    }

    /// Leaves room for so many more bytes; none for no limit.
    pub fn leave_room(&self, bytes: Option<usize>) {
        let mut state = self.lock();
        let used = state.used();
        state.capacity = bytes.map(|bytes| used + bytes);
    }

    /// Replaces everything on the disk.
    pub fn load(&self, files: impl IntoIterator<Item = (PathBuf, Content)>) {
        let mut state = self.lock();
        state.files.clear();
        state.names.clear();
        for (name, content) in files {
            let file = state.files.len();
            state.files.push(content);
            state.names.insert(name, file);
        }
    }

    /// Puts a file there as if it had always been; `name` is relative to the root.
    pub fn put(&self, name: &Path, bytes: &[u8]) {
        let mut state = self.lock();
        let file = state.files.len();
        state.files.push(Content::of(bytes));
        state.names.insert(name.to_owned(), file);
    }

    /// Everything on the disk.
    #[must_use]
    pub fn files(&self) -> BTreeMap<PathBuf, Content> {
        let state = self.lock();
        let content = |(name, file): (&PathBuf, &usize)| (name.clone(), state.files[*file].clone());
        state.names.iter().map(content).collect()
    }

    /// A path relative to the root.
    ///
    /// # Errors
    /// `NotFound` outside the root.
    pub(crate) fn name_of(&self, path: &Path) -> io::Result<PathBuf> {
        path.strip_prefix(&self.root)
            .map(Path::to_owned)
            .map_err(|_| io::ErrorKind::NotFound.into())
    }

    pub(crate) fn lock(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn new_file(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let name = self.name_of(path)?;
        let mut state = self.lock();
        if state.names.contains_key(&name) {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        let file = state.create(name);
        Ok(self.handle(file))
    }

    fn handle(&self, file: usize) -> Box<dyn AppendFile> {
        Box::new(PowerFile {
            disk: self.clone(),
            file,
        })
    }
}

impl State {
    fn note(&mut self, event: Event) {
        if self.is_recording {
            self.trace.push(event);
        }
    }

    pub(crate) fn create(&mut self, name: PathBuf) -> usize {
        let file = self.files.len();
        self.files.push(Content::default());
        self.names.insert(name.clone(), file);
        self.note(Event::Created { name, file });
        file
    }

    /// Bytes of all files that have a name.
    fn used(&self) -> usize {
        self.names
            .values()
            .map(|file| self.files[*file].len())
            .sum()
    }

    /// Writes bytes; of those for which there is no room, none.
    pub(crate) fn write(&mut self, file: usize, offset: usize, bytes: &[u8]) -> io::Result<()> {
        let growth = (offset + bytes.len()).saturating_sub(self.files[file].len());
        if growth > 0
            && self
                .capacity
                .is_some_and(|capacity| self.used() + growth > capacity)
        {
            return Err(io::ErrorKind::StorageFull.into());
        }
        self.files[file].write_at(offset, bytes);
        let bytes = bytes.into();
        self.note(Event::Written {
            file,
            offset,
            bytes,
        });
        Ok(())
    }

    pub(crate) fn truncate(&mut self, file: usize, length: usize) {
        self.files[file].truncate(length);
        self.note(Event::Truncated { file, length });
    }

    pub(crate) fn remove(&mut self, name: &Path) -> io::Result<()> {
        self.names
            .remove(name)
            .ok_or(io::ErrorKind::NotFound)
            .map_err(io::Error::from)?;
        let name = name.to_owned();
        self.note(Event::Removed { name });
        Ok(())
    }

    /// Syncs a file, unless the disk lies about files of this sort.
    pub(crate) fn sync(&mut self, file: usize, sort: Lie) {
        if self.lie != Some(sort) {
            self.note(Event::Synced { file });
        }
    }

    pub(crate) fn sync_folder(&mut self, folder: &Path) {
        if self.lie != Some(Lie::FolderSync) {
            let folder = folder.to_owned();
            self.note(Event::FolderSynced { folder });
        }
    }

    fn find(&self, name: &Path) -> io::Result<usize> {
        self.names
            .get(name)
            .copied()
            .ok_or_else(|| io::ErrorKind::NotFound.into())
    }
}

impl Disk for PowerDisk {
    fn create(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        self.new_file(path)
    }

    fn create_private(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        self.new_file(path)
    }

    fn open_append(&self, path: &Path) -> io::Result<Box<dyn AppendFile>> {
        let file = self.lock().find(&self.name_of(path)?)?;
        Ok(self.handle(file))
    }

    fn open(&self, path: &Path) -> io::Result<Box<dyn Read + Send>> {
        let state = self.lock();
        let file = state.find(&self.name_of(path)?)?;
        Ok(Box::new(io::Cursor::new(state.files[file].to_vec())))
    }

    fn length(&self, path: &Path) -> io::Result<u64> {
        let state = self.lock();
        Ok(state.files[state.find(&self.name_of(path)?)?].len() as u64)
    }

    fn exists(&self, path: &Path) -> bool {
        let state = self.lock();
        self.name_of(path).is_ok_and(|name| {
            state.names.contains_key(&name)
                || state.names.keys().any(|other| other.starts_with(&name))
        })
    }

    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        let (from, to) = (self.name_of(from)?, self.name_of(to)?);
        let mut state = self.lock();
        if state.names.contains_key(&to) {
            return Err(io::ErrorKind::AlreadyExists.into());
        }
        let file = state.find(&from)?;
        state.names.remove(&from);
        state.names.insert(to.clone(), file);
        state.note(Event::Renamed { from, to });
        Ok(())
    }

    fn replace(&self, from: &Path, to: &Path) -> io::Result<()> {
        let (from, to) = (self.name_of(from)?, self.name_of(to)?);
        let mut state = self.lock();
        let file = state.find(&from)?;
        state.names.remove(&from);
        state.names.insert(to.clone(), file);
        state.note(Event::Renamed { from, to });
        Ok(())
    }

    fn remove(&self, path: &Path) -> io::Result<()> {
        let name = self.name_of(path)?;
        self.lock().remove(&name)
    }

    /// Folders are not kept apart from the names in them, and are taken to last.
    fn create_folder(&self, _path: &Path) -> io::Result<()> {
        Ok(())
    }

    fn file_names(&self, folder: &Path) -> io::Result<Vec<String>> {
        let folder = self.name_of(folder)?;
        let state = self.lock();
        let here = state
            .names
            .keys()
            .filter(|name| name.parent() == Some(&folder));
        let names = here.filter_map(|name| name.file_name()?.to_str().map(str::to_owned));
        Ok(names.collect())
    }

    fn sync_folder(&self, folder: &Path) -> io::Result<()> {
        let folder = self.name_of(folder)?;
        self.lock().sync_folder(&folder);
        Ok(())
    }

    fn database_files(&self) -> &dyn Disk {
        self
    }
}

struct PowerFile {
    disk: PowerDisk,
    file: usize,
}

impl AppendFile for PowerFile {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut state = self.disk.lock();
        let offset = state.files[self.file].len();
        state.write(self.file, offset, bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.disk.lock().sync(self.file, Lie::SegmentSync);
        Ok(())
    }

    fn length(&self) -> io::Result<u64> {
        Ok(self.disk.lock().files[self.file].len() as u64)
    }
}
