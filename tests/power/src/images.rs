//! The images that a crash may leave of a [`Medium`].

use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hash as _, Hasher as _};
use std::path::PathBuf;

use crate::content::Content;
use crate::medium::{Change, Medium};

/// Bytes that a medium writes wholly or not at all.
const SECTOR: usize = 512;

/// How a crash cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cut {
    /// Power: nothing lasts that was not synced.
    AllDropped,
    /// Power or kill: everything is there.
    AllKept,
    /// Power: of each unsynced write all, some sectors or nothing; names up to some point.
    Subset,
    /// Power: everything but sectors of the last write.
    Torn,
    /// Power: as [`Cut::Subset`], and each change of a name by itself.
    NamesReordered,
    /// Kill: everything but the last bytes of the last write.
    KilledAmid,
}

/// Numbers from a seed: `SplitMix64` (Steele, Lea, Flood 2014), which needs no package and is the same
/// everywhere.
#[derive(Debug, Clone)]
pub struct Numbers(u64);

impl Numbers {
    /// The numbers of a seed.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The next number.
    pub fn draw(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below `bound`, which must not be 0.
    pub fn below(&mut self, bound: usize) -> usize {
        // The bias of a remainder does not matter for choosing tests.
        let bound = bound as u64;
        usize::try_from(self.draw() % bound).unwrap_or(0)
    }
}

/// What is on a medium after a crash.
pub(crate) struct Image {
    pub(crate) files: BTreeMap<PathBuf, Content>,
    /// The same for the same choices on the same lasting state: to leave out what was checked.
    pub(crate) digest: u64,
}

impl Medium {
    /// One image.
    pub(crate) fn image(&self, cut: Cut, numbers: &mut Numbers) -> Image {
        let mut hash = DefaultHasher::new();
        self.version.hash(&mut hash);
        let names = self.names_after(cut, numbers, &mut hash);
        let mut files = BTreeMap::new();
        for (name, file) in names {
            let state = &self.files[file];
            let mut content = state.lasting.clone();
            for (index, change) in state.pending.iter().enumerate() {
                let is_last = self.last_written == Some(file) && index + 1 == state.pending.len();
                let kept = choose(cut, is_last, change, numbers);
                (file, index).hash(&mut hash);
                kept.apply(change, &mut content, &mut hash);
            }
            files.insert(name, content);
        }
        let digest = hash.finish();
        Image { files, digest }
    }

    fn names_after(
        &self,
        cut: Cut,
        numbers: &mut Numbers,
        hash: &mut DefaultHasher,
    ) -> BTreeMap<PathBuf, usize> {
        let mut names = self.lasting_names.clone();
        let pending = &self.pending_names;
        let until = match cut {
            Cut::AllDropped => 0,
            Cut::Subset => numbers.below(pending.len() + 1),
            Cut::AllKept | Cut::Torn | Cut::KilledAmid | Cut::NamesReordered => pending.len(),
        };
        for (index, change) in pending[..until].iter().enumerate() {
            if cut != Cut::NamesReordered || numbers.draw() & 1 == 0 {
                index.hash(hash);
                change.apply(&mut names);
            }
        }
        names
    }
}

/// What is left of one change.
enum Kept {
    Nothing,
    All,
    /// These sectors of a write, by a mask that repeats.
    Sectors(u64),
    /// The first bytes of a write.
    First(usize),
    /// The file has grown, its new bytes are zero.
    Grown,
}

fn choose(cut: Cut, is_last: bool, change: &Change, numbers: &mut Numbers) -> Kept {
    let length = match change {
        Change::Write { bytes, .. } => bytes.len(),
        Change::Truncate { .. } => 0,
    };
    match cut {
        Cut::AllDropped => Kept::Nothing,
        Cut::KilledAmid if is_last && length > 0 => Kept::First(numbers.below(length)),
        Cut::Torn if is_last => match numbers.below(3) {
            0 => Kept::First(sector_end(change, numbers)),
            1 => Kept::Grown,
            _ => Kept::Sectors(numbers.draw()),
        },
        Cut::AllKept | Cut::Torn | Cut::KilledAmid => Kept::All,
        Cut::Subset | Cut::NamesReordered => match numbers.below(8) {
            0..=2 => Kept::Nothing,
            3..=5 => Kept::All,
            6 => Kept::Grown,
            _ => Kept::Sectors(numbers.draw()),
        },
    }
}

/// A length at which a write ends at the end of a sector.
fn sector_end(change: &Change, numbers: &mut Numbers) -> usize {
    let Change::Write { offset, bytes } = change else {
        return 0;
    };
    let sectors = (offset + bytes.len()).div_ceil(SECTOR) - offset / SECTOR;
    let end = (offset / SECTOR + numbers.below(sectors)) * SECTOR;
    end.saturating_sub(*offset).min(bytes.len())
}

impl Kept {
    fn apply(&self, change: &Change, content: &mut Content, hash: &mut DefaultHasher) {
        match (self, change) {
            (Self::All, _) => {
                1_u8.hash(hash);
                change.apply(content);
            }
            // A change of length happens or does not.
            (Self::Nothing, _) | (_, Change::Truncate { .. }) => 0_u8.hash(hash),
            (Self::Grown, Change::Write { offset, bytes }) => {
                2_u8.hash(hash);
                content.grow(offset + bytes.len());
            }
            (Self::First(count), Change::Write { offset, bytes }) => {
                (3_u8, count).hash(hash);
                content.write_at(*offset, &bytes[..*count]);
            }
            (Self::Sectors(mask), Change::Write { offset, bytes }) => {
                4_u8.hash(hash);
                let mut at = 0;
                while at < bytes.len() {
                    let sector = (offset + at) / SECTOR;
                    let end = ((sector + 1) * SECTOR - offset).min(bytes.len());
                    let is_kept = mask >> (sector % 64) & 1 == 1;
                    is_kept.hash(hash);
                    if is_kept {
                        content.write_at(offset + at, &bytes[at..end]);
                    }
                    at = end;
                }
            }
        }
    }
}
