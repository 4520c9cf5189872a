//! Pictures: which belong to what, whether all of one is here, and its bytes.

use winze_sync_format::{RecordRef, SignedRecord};

use crate::record::{AttachmentAdded, Body, MediaType};
use crate::station::StationCode;
use crate::{Logbook, Result};

/// One picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AttachmentView {
    /// The record that names it.
    pub at: RecordRef,
    /// The record it belongs to.
    pub about: RecordRef,
    /// The station.
    pub station: StationCode,
    /// What the file is.
    pub media: MediaType,
    /// Bytes of the whole.
    pub bytes: u32,
    /// SHA-256 of the whole.
    pub sha256: [u8; 32],
    /// Its pieces.
    pub chunks: u32,
    /// Pieces that are not here yet; 0 when it can be put together.
    pub missing_chunks: u32,
    /// When it was taken, milliseconds since 1970, where known.
    pub taken_ms: Option<i64>,
    /// When it was attached, milliseconds since 1970, by the writer's clock.
    pub attached_ms: i64,
    /// How far local time was ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
    /// More about it.
    pub note: String,
    /// Who attached it.
    pub by: String,
}

/// The pictures at a station that count, in the order in which they were attached.
///
/// # Errors
/// The database's.
pub fn attachments_at(logbook: &Logbook, station: &StationCode) -> Result<Vec<AttachmentView>> {
    let mut views = Vec::new();
    for (record, body) in logbook.read_attachments(station)? {
        if let Body::AttachmentAdded(added) = body {
            views.push(view(logbook, &record, *added)?);
        }
    }
    views.sort_by_key(|view| (view.attached_ms, view.at));
    Ok(views)
}

/// The pictures of one record at a station.
///
/// # Errors
/// The database's.
pub fn attachments_of(
    logbook: &Logbook,
    station: &StationCode,
    about: RecordRef,
) -> Result<Vec<AttachmentView>> {
    let mut views = attachments_at(logbook, station)?;
    views.retain(|view| view.about == about);
    Ok(views)
}

/// The picture that a record names, counted or not.
///
/// # Errors
/// [`UnknownRecord`](crate::Error::UnknownRecord), [`NotAnAttachment`](crate::Error::NotAnAttachment).
pub fn attachment(logbook: &Logbook, at: RecordRef) -> Result<AttachmentView> {
    let (record, added) = logbook.read_attachment(at)?;
    view(logbook, &record, added)
}

/// The file of a picture, put together and checked against its hash.
///
/// # Errors
/// As [`attachment`], [`AttachmentIncomplete`](crate::Error::AttachmentIncomplete) while pieces are
/// missing, [`AttachmentUnfit`](crate::Error::AttachmentUnfit) when the pieces are not what the
/// record says of the whole.
pub fn attachment_bytes(logbook: &Logbook, at: RecordRef) -> Result<Vec<u8>> {
    let (_, added) = logbook.read_attachment(at)?;
    logbook.read_picture(at, &added)
}

fn view(
    logbook: &Logbook,
    record: &SignedRecord,
    added: AttachmentAdded,
) -> Result<AttachmentView> {
    Ok(AttachmentView {
        at: record.reference(),
        about: added.about,
        station: added.station,
        media: added.media,
        bytes: added.length,
        sha256: added.sha256,
        chunks: u32::try_from(added.chunks.len()).unwrap_or(u32::MAX),
        missing_chunks: logbook.count_missing_chunks(&added.chunks)?,
        taken_ms: added.taken_ms,
        attached_ms: record.record().clock.wall_ms,
        utc_offset_minutes: added.utc_offset_minutes,
        note: added.note,
        by: record.record().person.clone(),
    })
}
