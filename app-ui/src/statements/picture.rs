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
    let name: String = chunk.sha256()[..4]
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    vec![format!(
        "A piece of a picture: {}, SHA-256 {name}...",
        words::count(chunk.bytes.len() as u64, "byte", "bytes")
    )]
}
