//! What lasts and what does not, event by event.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use crate::content::Content;
use crate::disk::Event;

/// A change of a file that is not sure to last.
#[derive(Debug, Clone)]
pub(crate) enum Change {
    Write { offset: usize, bytes: Arc<[u8]> },
    Truncate { length: usize },
}

/// A change of a name that is not sure to last.
#[derive(Debug, Clone)]
pub(crate) enum NameChange {
    Create { name: PathBuf, file: usize },
    Rename { from: PathBuf, to: PathBuf },
    Remove { name: PathBuf },
}

#[derive(Debug, Clone, Default)]
pub(crate) struct FileState {
    pub(crate) lasting: Content,
    pub(crate) pending: Vec<Change>,
}

/// A medium with what lasts on it and what is under way. [`Medium::apply`] the events of a trace in
/// order; between any two ask for images.
#[derive(Debug, Clone, Default)]
pub struct Medium {
    pub(crate) files: Vec<FileState>,
    pub(crate) lasting_names: BTreeMap<PathBuf, usize>,
    pub(crate) pending_names: Vec<NameChange>,
    /// Rises whenever what lasts changes.
    pub(crate) version: u64,
    /// The file that was written to last.
    pub(crate) last_written: Option<usize>,
}

impl Medium {
    /// A medium on which these files last under these names.
    pub(crate) fn with(files: Vec<Content>, lasting_names: BTreeMap<PathBuf, usize>) -> Self {
        let state = |lasting| FileState {
            lasting,
            pending: Vec::new(),
        };
        Self {
            files: files.into_iter().map(state).collect(),
            lasting_names,
            ..Self::default()
        }
    }

    /// Takes in what was done next. Returns whether what a crash may leave has changed.
    pub fn apply(&mut self, event: &Event) -> bool {
        match event {
            Event::Created { name, file } => {
                if *file >= self.files.len() {
                    self.files.resize_with(file + 1, FileState::default);
                }
                let (name, file) = (name.clone(), *file);
                self.pending_names.push(NameChange::Create { name, file });
            }
            Event::Renamed { from, to } => {
                let (from, to) = (from.clone(), to.clone());
                self.pending_names.push(NameChange::Rename { from, to });
            }
            Event::Removed { name } => {
                let name = name.clone();
                self.pending_names.push(NameChange::Remove { name });
            }
            Event::Written {
                file,
                offset,
                bytes,
            } => {
                let (offset, bytes) = (*offset, Arc::clone(bytes));
                self.files[*file]
                    .pending
                    .push(Change::Write { offset, bytes });
                self.last_written = Some(*file);
            }
            Event::Truncated { file, length } => {
                let length = *length;
                self.files[*file].pending.push(Change::Truncate { length });
                self.last_written = Some(*file);
            }
            Event::Synced { file } => {
                let file = &mut self.files[*file];
                if file.pending.is_empty() {
                    return false;
                }
                for change in std::mem::take(&mut file.pending) {
                    change.apply(&mut file.lasting);
                }
                self.version += 1;
            }
            Event::FolderSynced { folder } => {
                let before = self.pending_names.len();
                let (now, later) = std::mem::take(&mut self.pending_names)
                    .into_iter()
                    .partition(|change| change.folder() == Some(folder));
                self.pending_names = later;
                let now: Vec<NameChange> = now;
                for change in &now {
                    change.apply(&mut self.lasting_names);
                }
                if self.pending_names.len() == before {
                    return false;
                }
                self.version += 1;
            }
            Event::Marked(_) => return false,
        }
        true
    }
}

impl Change {
    pub(crate) fn apply(&self, content: &mut Content) {
        match self {
            Self::Write { offset, bytes } => content.write_at(*offset, bytes),
            Self::Truncate { length } => content.truncate(*length),
        }
    }
}

impl NameChange {
    fn folder(&self) -> Option<&Path> {
        match self {
            Self::Create { name, .. } | Self::Remove { name } => name.parent(),
            // Both names are in one folder: nothing here moves between folders.
            Self::Rename { to, .. } => to.parent(),
        }
    }

    pub(crate) fn apply(&self, names: &mut BTreeMap<PathBuf, usize>) {
        match self {
            Self::Create { name, file } => {
                names.insert(name.clone(), *file);
            }
            Self::Rename { from, to } => {
                if let Some(file) = names.remove(from) {
                    names.insert(to.clone(), file);
                }
            }
            Self::Remove { name } => {
                names.remove(name);
            }
        }
    }
}
