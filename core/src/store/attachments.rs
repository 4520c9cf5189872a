//! Finding pictures and their pieces.
//!
//! Which pictures belong to a thing is told by records that count. A piece needs no trust: its name
//! is the hash of its bytes, whoever sent it.

use rusqlite::OptionalExtension;
use sha2::{Digest, Sha256};
use winze_sync_format::{Opened, RecordRef, SignedRecord};

use super::Logbook;
use super::database::{Database, During};
use super::facts::stored_item;
use super::rows::At;
use crate::record::{AttachmentAdded, AttachmentChunk, Body, ChunkName};
use crate::station::StationCode;
use crate::{Error, Result};

impl Logbook {
    /// The pictures at a station that count, in no particular order.
    pub(crate) fn read_attachments(&self, code: &StationCode) -> Result<Vec<(SignedRecord, Body)>> {
        self.database.counted_about("attachment", code)
    }

    /// Says whether a piece is here.
    pub(crate) fn holds_chunk(&self, sha256: &[u8; 32]) -> Result<bool> {
        self.database
            .connection
            .prepare_cached("SELECT 1 FROM attachment_chunk WHERE sha256 = ?1")
            .and_then(|mut query| query.exists([&sha256[..]]))
            .during("look for a piece of a picture")
    }

    /// How many pieces of a picture are not here.
    pub(crate) fn count_missing_chunks(&self, chunks: &[ChunkName]) -> Result<u32> {
        let mut missing = 0;
        for chunk in chunks {
            missing += u32::from(!self.holds_chunk(&chunk.sha256)?);
        }
        Ok(missing)
    }

    /// The picture that a record says, counted or not.
    pub(crate) fn read_attachment(&self, at: RecordRef) -> Result<(SignedRecord, AttachmentAdded)> {
        let found = self.database.find_item(at)?;
        let Some(Opened::Record(record)) = found else {
            return Err(Error::UnknownRecord { at });
        };
        match Body::decode(record.kind(), record.body()) {
            Ok(Body::AttachmentAdded(added)) => Ok((record, *added)),
            _ => Err(Error::NotAnAttachment { at }),
        }
    }

    /// Puts the bytes of a picture together and checks them against what its record says.
    pub(crate) fn read_picture(&self, at: RecordRef, added: &AttachmentAdded) -> Result<Vec<u8>> {
        let missing = self.count_missing_chunks(&added.chunks)?;
        if missing > 0 {
            return Err(Error::AttachmentIncomplete { at, missing });
        }
        // At most as much as a picture may have: that was checked when the record was read.
        let mut bytes = Vec::with_capacity(added.length as usize);
        for chunk in &added.chunks {
            let piece = self.database.chunk_bytes(&chunk.sha256)?;
            let piece = piece.ok_or(Error::AttachmentIncomplete { at, missing: 1 })?;
            if piece.len() != chunk.length as usize {
                return Err(Error::AttachmentUnfit { at });
            }
            bytes.extend_from_slice(&piece);
        }
        if <[u8; 32]>::from(Sha256::digest(&bytes)) == added.sha256 {
            Ok(bytes)
        } else {
            Err(Error::AttachmentUnfit { at })
        }
    }
}

impl Database {
    pub(super) fn put_attachment_chunk(&self, at: &At<'_>, chunk: &AttachmentChunk) -> Result<()> {
        self.run(
            "INSERT INTO attachment_chunk (sha256, log, seq, id) VALUES (?1, ?2, ?3, ?4)",
            rusqlite::params![&chunk.sha256()[..], at.log, at.seq, at.id],
        )
    }

    /// The bytes of a piece. Of several records with the same bytes any will do.
    fn chunk_bytes(&self, sha256: &[u8; 32]) -> Result<Option<Vec<u8>>> {
        let item: Option<Vec<u8>> = self
            .connection
            .prepare_cached(
                "SELECT c.item FROM attachment_chunk r
                 JOIN record c ON c.log = r.log AND c.seq = r.seq AND c.id = r.id
                 WHERE r.sha256 = ?1 LIMIT 1",
            )
            .and_then(|mut query| query.query_row([&sha256[..]], |row| row.get(0)).optional())
            .during("read a piece of a picture")?;
        let Some(item) = item else { return Ok(None) };
        let Opened::Record(record) = stored_item(&item)? else {
            return Ok(None);
        };
        match Body::decode(record.kind(), record.body())? {
            Body::AttachmentChunk(chunk) => Ok(Some(chunk.bytes)),
            _ => Ok(None),
        }
    }
}
