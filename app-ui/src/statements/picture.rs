//! What records about pictures say.

use winze_core::record::{AttachmentAdded, AttachmentChunk};

use super::{moment, named, with_quote};
use crate::messages::picture::size;
use crate::presenters::words;

pub(super) fn added(added: &AttachmentAdded) -> Vec<String> {
    let mut lines = vec![format!(
        "Adds a picture ({}, {}, in {}) to {} of station {}.",
        added.media.code(),
        size(u64::from(added.length)),
        words::count(added.chunks.len() as u64, "piece", "pieces"),
        named(&added.about),
        added.station
    )];
    if let Some(taken_ms) = added.taken_ms {
        lines.push(format!(
            "Its file says that it was taken on {}.",
            moment(taken_ms, Some(added.utc_offset_minutes))
        ));
    }
    with_quote(lines, "Note", &added.note)
}

pub(super) fn chunk(chunk: &AttachmentChunk) -> Vec<String> {
    let [a, b, c, d, ..] = chunk.sha256();
    vec![format!(
        "A piece of a picture: {}, SHA-256 {a:02x}{b:02x}{c:02x}{d:02x}...",
        words::count(chunk.bytes.len() as u64, "byte", "bytes")
    )]
}
