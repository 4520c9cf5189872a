//! Where a valve should work within its rating. **Common practice, no source**: an engineer
//! changes these, and none of them is a safety limit.

/// The shares of rated Kv between which a stage should work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Practice {
    /// At the smallest flow a stage should need at least this share of its rated Kv; below it it
    /// works on its seat and hunts.
    pub least_share: f64,
    /// At the largest flow it should need at most this share, to keep something in hand.
    pub greatest_share: f64,
}

impl Default for Practice {
    fn default() -> Self {
        Self {
            least_share: 0.05,
            greatest_share: 0.85,
        }
    }
}
