//! Damages a copy of a bundle the way a bad stick does: one sector of it comes back as zeros.
//!
//! Only for the demonstration. Where the sector lies is chosen so that certain records are hit and
//! others are not; nothing in the file but the sector is touched.

use winze_sync_format::salvage::{Found, ItemScanner};

/// Bytes that one sector of a stick holds.
pub const SECTOR: usize = 512;

/// A copy of `bundle` in which a sector that starts inside record number `hit` (from 0, the
/// bundle's header not counted) reads as zeros; `None` where there is no such record.
#[must_use]
pub fn with_lost_sector(bundle: &[u8], hit: usize) -> Option<Vec<u8>> {
    let offset = record_offsets(bundle).nth(hit)?;
    // A little inside, so that the record before stays whole.
    let start = usize::try_from(offset).ok()?.checked_add(16)?;
    let mut copy = bundle.to_vec();
    copy.get_mut(start..)?
        .iter_mut()
        .take(SECTOR)
        .for_each(|byte| *byte = 0);
    Some(copy)
}

/// Where the records of a bundle start, in order.
fn record_offsets(bundle: &[u8]) -> impl Iterator<Item = u64> + '_ {
    ItemScanner::new(bundle).filter_map(|found| match found {
        Found::Record { offset, record, .. }
            if record.kind() != winze_sync_format::KIND_BUNDLE_HEADER
                && record.kind() != winze_sync_format::KIND_BUNDLE_TRAILER =>
        {
            Some(offset)
        }
        _ => None,
    })
}
