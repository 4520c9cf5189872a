//! The bytes of a file in pieces that images share until one of them is written to.

use std::sync::Arc;

/// Bytes in a piece.
const PIECE: usize = 4096;

/// The bytes of a file. Clones share what neither changes.
#[derive(Debug, Clone, Default)]
pub struct Content {
    pieces: Vec<Arc<[u8; PIECE]>>,
    length: usize,
}

impl Content {
    /// A file with these bytes.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        let mut content = Self::default();
        content.write_at(0, bytes);
        content
    }

    /// The length in bytes.
    #[must_use]
    pub fn len(&self) -> usize {
        self.length
    }

    /// Whether there are no bytes.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.length == 0
    }

    /// Copies out what there is from `offset` on; returns how much that was.
    pub fn read_at(&self, offset: usize, out: &mut [u8]) -> usize {
        let end = self.length.min(offset.saturating_add(out.len()));
        let mut at = offset;
        while at < end {
            let (piece, within) = (at / PIECE, at % PIECE);
            let count = (PIECE - within).min(end - at);
            out[at - offset..at - offset + count]
                .copy_from_slice(&self.pieces[piece][within..within + count]);
            at += count;
        }
        end.saturating_sub(offset)
    }

    /// Writes bytes; a gap before them is filled with zeros.
    pub fn write_at(&mut self, offset: usize, bytes: &[u8]) {
        let end = offset + bytes.len();
        if end > self.length {
            self.grow(end);
        }
        let mut at = offset;
        while at < end {
            let (piece, within) = (at / PIECE, at % PIECE);
            let count = (PIECE - within).min(end - at);
            Arc::make_mut(&mut self.pieces[piece])[within..within + count]
                .copy_from_slice(&bytes[at - offset..at - offset + count]);
            at += count;
        }
    }

    /// Makes the file at least this long; what is new is zero.
    pub fn grow(&mut self, length: usize) {
        if length > self.length {
            self.pieces
                .resize_with(length.div_ceil(PIECE), || Arc::new([0; PIECE]));
            self.length = length;
        }
    }

    /// Sets the length; what is new is zero.
    pub fn truncate(&mut self, length: usize) {
        if length >= self.length {
            self.grow(length);
            return;
        }
        self.pieces.truncate(length.div_ceil(PIECE));
        if let Some(last) = self.pieces.last_mut()
            && !length.is_multiple_of(PIECE)
        {
            // So that growing again finds zeros.
            Arc::make_mut(last)[length % PIECE..].fill(0);
        }
        self.length = length;
    }

    /// All bytes.
    #[must_use]
    pub fn to_vec(&self) -> Vec<u8> {
        let mut bytes = vec![0; self.length];
        self.read_at(0, &mut bytes);
        bytes
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_cut_off_does_not_come_back() {
        let mut content = Content::of(&[7; 5000]);
        content.truncate(4500);
        content.truncate(4600);
        let bytes = content.to_vec();
        assert_eq!(bytes.len(), 4600);
        assert!(bytes[..4500].iter().all(|byte| *byte == 7));
        assert!(bytes[4500..].iter().all(|byte| *byte == 0));
    }

    #[test]
    fn clones_do_not_see_each_others_writes() {
        let first = Content::of(&[1; 9000]);
        let mut second = first.clone();
        second.write_at(4090, &[2; 20]);
        assert!(first.to_vec().iter().all(|byte| *byte == 1));
        assert_eq!(second.to_vec()[4090..4110], [2; 20]);
        let mut part = [0; 30];
        assert_eq!(second.read_at(8990, &mut part), 10);
    }
}
