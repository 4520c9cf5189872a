//! Checks the signatures of a batch of items, on several threads where that pays.

use crate::id::RecordRef;
use crate::item::{Unverified, Verifier};

/// What stands at a place, before its signature is checked.
pub(super) enum Candidate {
    /// An item of which only the name was read: the caller holds it, so it counts as valid.
    Held { reference: RecordRef, length: usize },
    /// An item in the one allowed form.
    New(Unverified),
}

/// Below this many items a second thread costs more than it brings.
const SMALLEST_SHARE: usize = 32;

/// One verifier for each thread, kept from batch to batch for their unpacked keys.
pub(super) struct Verifiers(Vec<Verifier>);

impl Verifiers {
    pub fn new(threads: usize) -> Self {
        Self((0..threads).map(|_| Verifier::default()).collect())
    }

    /// How many items from the start of the batch are valid before the first that is not.
    pub fn count_valid(&mut self, batch: &[Candidate]) -> usize {
        let is_new = |candidate: &&Candidate| matches!(candidate, Candidate::New(_));
        let share = batch.len().div_ceil(self.0.len()).max(SMALLEST_SHARE);
        if batch.len() <= share || batch.iter().filter(is_new).count() <= SMALLEST_SHARE {
            return count(&mut self.0[0], batch);
        }
        let counts: Vec<usize> = std::thread::scope(|scope| {
            let parts = batch.chunks(share).zip(&mut self.0);
            let threads: Vec<_> = parts
                .map(|(part, verifier)| scope.spawn(|| count(verifier, part)))
                .collect();
            // A thread that panicked has vouched for nothing.
            threads
                .into_iter()
                .map(|thread| thread.join().unwrap_or(0))
                .collect()
        });
        let mut valid = 0;
        for (count, part) in counts.into_iter().zip(batch.chunks(share)) {
            valid += count;
            if count < part.len() {
                break;
            }
        }
        valid
    }
}

fn count(verifier: &mut Verifier, batch: &[Candidate]) -> usize {
    let invalid = |candidate: &Candidate| match candidate {
        Candidate::Held { .. } => false,
        Candidate::New(item) => verifier.check(item).is_err(),
    };
    batch.iter().position(invalid).unwrap_or(batch.len())
}
