//! Bodies about pictures: what a picture is and belongs to, and the pieces of its bytes.
//!
//! A picture is never looked into here: its form is told by its first bytes, and that is all.

use sha2::{Digest as _, Sha256};
use winze_sync_format::RecordRef;
use winze_sync_format::canonical::Reader;

use super::round::{read_code, read_utc_offset};
use super::wire::{Fields, ReadExt, Value};
use super::{BodyError, BodyResult};
use crate::station::StationCode;

/// The most bytes of a picture.
pub const MAX_PICTURE_BYTES: usize = 8 * 1024 * 1024;

/// The most bytes in one piece. With the envelope and a long name of a person around it a piece
/// stays below the largest record.
pub const MAX_CHUNK_BYTES: usize = 56 * 1024;

/// The most pieces that a picture may name: other programs may cut smaller pieces.
const MAX_CHUNKS: usize = 1024;

/// What a picture file is, told by its first bytes alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum MediaType {
    /// `image/jpeg`.
    Jpeg,
    /// `image/png`.
    Png,
}

impl MediaType {
    /// Tells the type by the first bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Option<Self> {
        if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
            Some(Self::Jpeg)
        } else if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
            Some(Self::Png)
        } else {
            None
        }
    }

    /// The registered name.
    #[must_use]
    pub const fn code(self) -> &'static str {
        match self {
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
        }
    }

    /// What a file's name ends in, without the dot.
    #[must_use]
    pub const fn extension(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Png => "png",
        }
    }

    fn from_code(code: &str) -> Option<Self> {
        [Self::Jpeg, Self::Png]
            .into_iter()
            .find(|media| media.code() == code)
    }
}

/// A piece of a picture, as the picture names it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ChunkName {
    /// SHA-256 of its bytes.
    pub sha256: [u8; 32],
    /// How many bytes, 1 to [`MAX_CHUNK_BYTES`].
    pub length: u32,
}

impl ChunkName {
    fn value(&self) -> Value<'_> {
        Value::List(vec![
            Value::Bytes(&self.sha256),
            Value::Uint(u64::from(self.length)),
        ])
    }
}

/// A picture belongs to a record: all about it but its bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AttachmentAdded {
    /// What the file is.
    pub media: MediaType,
    /// How many bytes the whole has, 1 to [`MAX_PICTURE_BYTES`].
    pub length: u32,
    /// SHA-256 of the whole.
    pub sha256: [u8; 32],
    /// Its pieces in order; their lengths add up to the whole.
    pub chunks: Vec<ChunkName>,
    /// The record it belongs to: a reading, a job, a procedure or a step of one.
    pub about: RecordRef,
    /// The station that record is about.
    pub station: StationCode,
    /// When it was taken, milliseconds since 1970, as far as the file tells.
    pub taken_ms: Option<i64>,
    /// More about it.
    pub note: String,
    /// How far local time was ahead of UTC, minutes.
    pub utc_offset_minutes: i16,
}

impl AttachmentAdded {
    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new()
            .put(0, self.media.code())
            .put(1, self.length)
            .put(2, &self.sha256)
            .put_list(3, self.chunks.iter().map(ChunkName::value).collect())
            .put(4, self.about)
            .put(5, self.station.as_str())
            .put_some(6, self.taken_ms)
            .put_text(7, &self.note)
            .put(8, i32::from(self.utc_offset_minutes))
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        let media = reader.need(0, |reader| {
            MediaType::from_code(reader.text()?).ok_or(BodyError::field("media", "not on the list"))
        })?;
        let length = reader.need(1, |reader| reader.uint32("length"))?;
        let sha256 = reader.need(2, |reader| Ok(reader.fixed_bytes()?))?;
        let chunks = reader.maybe_list(3, "chunks", read_chunk_name)?;
        check_lengths(length, &chunks)?;
        Ok(Self {
            media,
            length,
            sha256,
            chunks,
            about: reader.need(4, ReadExt::reference)?,
            station: reader.need(5, read_code)?,
            taken_ms: reader.maybe(6, |reader| Ok(reader.int()?))?,
            note: reader.maybe_text(7, "note")?,
            utc_offset_minutes: reader.need(8, read_utc_offset)?,
        })
    }
}

fn read_chunk_name(reader: &mut Reader<'_>) -> BodyResult<ChunkName> {
    if reader.array()? != 2 {
        return Err(BodyError::field("chunk", "not hash and length"));
    }
    let name = ChunkName {
        sha256: reader.fixed_bytes()?,
        length: reader.uint32("chunk")?,
    };
    reader.end()?;
    Ok(name)
}

/// Whoever puts a picture together may rely on its sizes.
fn check_lengths(length: u32, chunks: &[ChunkName]) -> BodyResult<()> {
    if length as usize > MAX_PICTURE_BYTES {
        return Err(BodyError::field("length", "too large"));
    }
    if chunks.len() > MAX_CHUNKS {
        return Err(BodyError::field("chunks", "too many"));
    }
    let is_piece = |chunk: &ChunkName| (1..=MAX_CHUNK_BYTES).contains(&(chunk.length as usize));
    if !chunks.iter().all(is_piece) {
        return Err(BodyError::field("chunk", "empty or too large"));
    }
    let total: u64 = chunks.iter().map(|chunk| u64::from(chunk.length)).sum();
    if total == 0 || total != u64::from(length) {
        return Err(BodyError::field("length", "not that of the chunks"));
    }
    Ok(())
}

/// A piece of a picture's bytes. Its name, the hash of the bytes, is worked out and never written, so
/// that it cannot lie.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AttachmentChunk {
    /// The bytes, 1 to [`MAX_CHUNK_BYTES`] of them.
    pub bytes: Vec<u8>,
}

impl AttachmentChunk {
    /// Its name: SHA-256 of the bytes.
    #[must_use]
    pub fn sha256(&self) -> [u8; 32] {
        Sha256::digest(&self.bytes).into()
    }

    pub(super) fn fields(&self) -> Fields<'_> {
        Fields::new().put(0, Value::Bytes(&self.bytes))
    }

    pub(super) fn read(reader: &mut Reader<'_>) -> BodyResult<Self> {
        let bytes = reader.need(0, |reader| Ok(reader.bytes()?.to_vec()))?;
        if (1..=MAX_CHUNK_BYTES).contains(&bytes.len()) {
            Ok(Self { bytes })
        } else {
            Err(BodyError::field("chunk", "empty or too large"))
        }
    }
}
