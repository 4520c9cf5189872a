//! What was learnt about a bundle by reading it to its end.

use super::parts::BundleHeader;
use super::ranges::SeqRange;
use crate::id::RecordRef;
use crate::item::NewerItem;
use crate::record::SignedRecord;
use crate::salvage::Damage;

/// Places that belong to the bundle and were not found in it.
pub type MissingRange = SeqRange;

/// The state of a bundle's end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrailerState {
    /// No valid trailer: the bundle is cut short, or damaged there.
    Absent,
    /// A valid trailer that does not fit what stands before or behind it.
    Disagrees(TrailerFault),
    /// A valid trailer that fits in every respect.
    Whole,
}

/// In which respect a trailer does not fit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrailerFault {
    /// Its body is not in the one allowed form.
    Form,
    /// It closes another header, or is signed by another logbook.
    OtherBundle,
    /// It declares other places than the header, or leaves out one that was found.
    Ranges,
    /// Another number of records stands before it, or in the header.
    Records,
    /// Another number of bytes stands before it.
    Length,
    /// The bytes before it have another hash.
    Hash,
    /// The closing number is absent, cut short or not its offset.
    Hint,
    /// Something follows the closing number.
    NotLast,
}

impl TrailerState {
    /// The stable name of the state, as the frozen vectors write it.
    #[must_use]
    pub fn class(self) -> &'static str {
        match self {
            Self::Absent => "absent",
            Self::Whole => "whole",
            Self::Disagrees(fault) => match fault {
                TrailerFault::Form => "bad-form",
                TrailerFault::OtherBundle => "other-bundle",
                TrailerFault::Ranges => "other-ranges",
                TrailerFault::Records => "other-records",
                TrailerFault::Length => "other-length",
                TrailerFault::Hash => "other-hash",
                TrailerFault::Hint => "bad-hint",
                TrailerFault::NotLast => "not-last",
            },
        }
    }
}

/// What was learnt about a bundle by reading it to its end.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BundleReport {
    /// The header, if it was found whole.
    pub header: Option<BundleHeader>,
    /// The state of its end.
    pub trailer: TrailerState,
    /// Bytes read.
    pub bytes: u64,
    /// Valid records found, those already held among them.
    pub records: u64,
    /// Records that the caller held already and whose signatures were not checked again.
    pub held: u64,
    /// Items of a newer format version.
    pub newer: u64,
    /// Parts that belong to no item, at most the first 1,000.
    pub damage: Vec<Damage>,
    /// Places that the bundle declares and that were not found. Where header and trailer are
    /// both lost: the gaps between what was found.
    pub missing: Vec<MissingRange>,
    /// Records that do not name the record directly before them as their predecessor, at most
    /// 1,000: traces of a log that was written twice, not of damage.
    pub broken_links: Vec<RecordRef>,
    /// More scattered places were found than could be kept track of; `missing` names too many.
    pub lost_track: bool,
}

impl BundleReport {
    /// Whether header, records and trailer are all there and agree to the last byte.
    #[must_use]
    pub fn is_whole(&self) -> bool {
        self.header.is_some()
            && self.trailer == TrailerState::Whole
            && self.damage.is_empty()
            && self.missing.is_empty()
            && !self.lost_track
    }

    /// How many declared places were not found.
    #[must_use]
    pub fn missing_count(&self) -> u64 {
        self.missing
            .iter()
            .fold(0, |sum, range| sum.saturating_add(range.count()))
    }
}

/// A bundle read into memory at once.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bundle {
    /// Its whole records, in the order of the file.
    pub records: Vec<SignedRecord>,
    /// Its items of a newer format version.
    pub newer: Vec<NewerItem>,
    /// What was learnt about it.
    pub report: BundleReport,
}
