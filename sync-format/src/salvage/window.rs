//! A moving window over a stream: enough bytes to see one whole item, hashed as they leave.

use std::io::Read;

use sha2::{Digest as _, Sha256};

use super::DamageReason;
use crate::item::{MARK, MAX_ITEM_BYTES};

/// Bytes asked of the stream at a time.
const CHUNK: usize = 256 * 1024;

pub(super) struct Window<R> {
    stream: R,
    bytes: Vec<u8>,
    /// Where the stream reads to: made once, since filling a window with zeros takes longer than all
    /// that is done with a small file.
    landing: Vec<u8>,
    /// Start of what was not consumed yet, within `bytes`.
    start: usize,
    ended: bool,
    taken: u64,
    hash: Sha256,
    /// Bytes consumed since the start of the stream.
    pub offset: u64,
    /// Most bytes taken from the stream.
    pub limit: u64,
    /// Why the stream ended before its end.
    pub trouble: Option<DamageReason>,
}

impl<R: Read> Window<R> {
    pub fn new(stream: R, limit: u64) -> Self {
        Self {
            stream,
            bytes: Vec::new(),
            landing: vec![0; CHUNK],
            start: 0,
            ended: false,
            taken: 0,
            hash: Sha256::new(),
            offset: 0,
            limit,
            trouble: None,
        }
    }

    /// The bytes from `at` on; at least `wanted` of them unless the stream ends before.
    pub fn look(&mut self, at: usize, wanted: usize) -> &[u8] {
        while !self.ended && self.bytes.len() - self.start < at + wanted {
            self.fill();
        }
        self.bytes.get(self.start + at..).unwrap_or_default()
    }

    /// Moves the front of the window; the bytes count towards the hash.
    pub fn consume(&mut self, count: usize) {
        self.hash
            .update(&self.bytes[self.start..self.start + count]);
        self.start += count;
        self.offset += count as u64;
    }

    /// SHA-256 of everything consumed.
    pub fn hash_so_far(&self) -> [u8; 32] {
        self.hash.clone().finalize().into()
    }

    /// Moves the front by at least one byte, to the next mark or the end; returns how far.
    pub fn skip_to_next_mark(&mut self) -> u64 {
        let before = self.offset;
        let first = self.look(0, MAX_ITEM_BYTES).len().min(1);
        self.consume(first);
        loop {
            let bytes = self.look(0, MAX_ITEM_BYTES);
            if let Some(at) = find_mark(bytes) {
                self.consume(at);
                break;
            }
            // A mark may begin in the last bytes and go on in the next chunk.
            let keep = if self.ended { 0 } else { MARK.len() - 1 };
            let surplus = self.bytes.len() - self.start - keep;
            self.consume(surplus);
            if self.ended {
                break;
            }
        }
        self.offset - before
    }

    /// Steps over all that is left; returns how much that was.
    pub fn drain(&mut self) -> u64 {
        let before = self.offset;
        loop {
            let count = self.look(0, 1).len();
            if count == 0 {
                return self.offset - before;
            }
            self.consume(count);
        }
    }

    fn fill(&mut self) {
        if self.start > 0 {
            self.bytes.drain(..self.start);
            self.start = 0;
        }
        let room = self.limit.saturating_sub(self.taken).saturating_add(1);
        let wanted = usize::try_from(room).map_or(CHUNK, |room| room.min(CHUNK));
        let outcome = loop {
            match self.stream.read(&mut self.landing[..wanted]) {
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
                other => break other,
            }
        };
        // A reader that claims more than it was given room for is not believed.
        let count = outcome.as_ref().map_or(0, |count| *count).min(wanted);
        self.bytes.extend_from_slice(&self.landing[..count]);
        self.taken += count as u64;
        match outcome {
            Ok(0) => self.ended = true,
            Ok(_) if self.taken > self.limit => {
                self.bytes.pop();
                self.ended = true;
                self.trouble = Some(DamageReason::OverLimit("bytes"));
            }
            Ok(_) => {}
            Err(error) => {
                self.ended = true;
                self.trouble = Some(DamageReason::Unreadable(error.kind()));
            }
        }
    }
}

/// The first place where a mark, or at the very end the beginning of one, may stand.
pub(super) fn find_mark(bytes: &[u8]) -> Option<usize> {
    bytes.windows(MARK.len()).position(|window| window == MARK)
}
