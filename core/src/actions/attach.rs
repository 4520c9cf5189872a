//! Attaching a picture to a record: its pieces are written first, what it is and belongs to last.
//!
//! A crash in between leaves pieces that nobody names yet; attaching it again goes on from there,
//! since pieces that are here are not written again.

use sha2::{Digest, Sha256};
use winze_sync_format::RecordRef;

use crate::record::{
    AttachmentAdded, AttachmentChunk, Body, ChunkName, MAX_CHUNK_BYTES, MAX_PICTURE_BYTES,
    MediaType,
};
use crate::station::StationCode;
use crate::store::NewRecord;
use crate::{Error, Logbook, Result};

/// Pieces written with one sync and one commit: below a mebibyte.
const PIECES_AT_ONCE: usize = 16;

/// A picture to attach.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewAttachment<'a> {
    /// The record it belongs to: a reading, a passing by, a job, a procedure or a step of one.
    pub about: RecordRef,
    /// The file, byte for byte.
    pub bytes: &'a [u8],
    /// When it was taken, milliseconds since 1970, as far as known.
    pub taken_ms: Option<i64>,
    /// More about it; may be empty.
    pub note: String,
    /// Who attaches it.
    pub by: String,
}

/// What came of attaching.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Attached {
    /// The record that names the picture.
    pub at: RecordRef,
    /// Whether the same picture belonged to the same record already; nothing was written then.
    pub was_there: bool,
    /// Pieces of the picture.
    pub chunks: usize,
    /// Pieces that had to be written; the others were here.
    pub new_chunks: usize,
}

/// Attaches a picture. It is not decoded: its first bytes tell what it is, and its size is checked.
///
/// # Errors
/// [`Error::NotAPicture`], [`Error::PictureTooLarge`], [`Error::CannotAttachTo`],
/// [`Error::UnknownRecord`], [`Error::NoRoomForPictures`], and those of writing.
pub fn attach(logbook: &mut Logbook, new: NewAttachment<'_>) -> Result<Attached> {
    if new.bytes.len() > MAX_PICTURE_BYTES {
        return Err(Error::PictureTooLarge {
            bytes: new.bytes.len() as u64,
            most: MAX_PICTURE_BYTES as u64,
        });
    }
    let media = MediaType::of(new.bytes).ok_or(Error::NotAPicture)?;
    let station = station_of(logbook, new.about)?;
    let sha256: [u8; 32] = Sha256::digest(new.bytes).into();
    let chunks: Vec<ChunkName> = new.bytes.chunks(MAX_CHUNK_BYTES).map(name_of).collect();
    for (record, body) in logbook.read_attachments(&station)? {
        if let Body::AttachmentAdded(there) = body
            && there.about == new.about
            && there.sha256 == sha256
        {
            return Ok(Attached {
                at: record.reference(),
                was_there: true,
                chunks: chunks.len(),
                new_chunks: 0,
            });
        }
    }
    let new_chunks = write_pieces(logbook, &new, &chunks)?;
    let body = AttachmentAdded {
        media,
        // Below the largest picture, as checked above.
        length: u32::try_from(new.bytes.len()).unwrap_or(u32::MAX),
        sha256,
        chunks,
        about: new.about,
        station,
        taken_ms: new.taken_ms,
        note: new.note,
        utc_offset_minutes: logbook.clock().utc_offset_minutes(),
    };
    let chunks = body.chunks.len();
    refuse_when_short(logbook)?;
    let at = logbook.confirm_one(NewRecord::new(
        Body::AttachmentAdded(Box::new(body)),
        new.by,
    ))?;
    Ok(Attached {
        at,
        was_there: false,
        chunks,
        new_chunks,
    })
}

/// Writes the pieces that are not here; returns how many.
fn write_pieces(
    logbook: &mut Logbook,
    new: &NewAttachment<'_>,
    names: &[ChunkName],
) -> Result<usize> {
    let mut written = 0;
    let pieces: Vec<_> = new.bytes.chunks(MAX_CHUNK_BYTES).zip(names).collect();
    for (start, some) in pieces.chunks(PIECES_AT_ONCE).enumerate() {
        let before = &names[..start * PIECES_AT_ONCE];
        let mut records = Vec::with_capacity(some.len());
        for (place, (bytes, name)) in some.iter().enumerate() {
            let is_repeated = some[..place].iter().any(|(_, other)| *other == *name);
            if is_repeated || before.contains(name) || logbook.holds_chunk(&name.sha256)? {
                continue;
            }
            let chunk = AttachmentChunk {
                bytes: bytes.to_vec(),
            };
            records.push(NewRecord::new(Body::AttachmentChunk(chunk), &*new.by));
        }
        // Pictures never use up the space that is kept back for readings.
        refuse_when_short(logbook)?;
        written += records.len();
        logbook.confirm(records)?;
    }
    Ok(written)
}

fn refuse_when_short(logbook: &Logbook) -> Result<()> {
    if logbook.is_short_of_space() {
        Err(Error::NoRoomForPictures)
    } else {
        Ok(())
    }
}

fn name_of(bytes: &[u8]) -> ChunkName {
    ChunkName {
        sha256: Sha256::digest(bytes).into(),
        length: u32::try_from(bytes.len()).unwrap_or(u32::MAX),
    }
}

/// The station of a record that a picture may belong to.
fn station_of(logbook: &Logbook, at: RecordRef) -> Result<StationCode> {
    match logbook.read_record(at)?.body {
        Some(Body::Reading(body)) => Ok(body.station),
        Some(Body::StationSkipped(body)) => Ok(body.station),
        Some(Body::JobRaised(body)) => Ok(body.station),
        Some(Body::JobClosed(body)) => Ok(body.station),
        Some(Body::TaskDone(body)) => Ok(body.station),
        Some(Body::ProcedureOpened(body)) => Ok(body.station),
        Some(Body::StepRecorded(body)) => Ok(body.station),
        _ => Err(Error::CannotAttachTo { at }),
    }
}
