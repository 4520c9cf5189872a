//! Rows of a list that outlive its refreshing: only what changed is touched, so a key under a
//! finger is not made anew while it is pressed.

use std::rc::Rc;

use slint::{Model, ModelRc, VecModel};

/// A list model that stays the same object.
pub struct Rows<T: Clone + PartialEq + 'static>(Rc<VecModel<T>>);

impl<T: Clone + PartialEq + 'static> Default for Rows<T> {
    fn default() -> Self {
        Self(Rc::new(VecModel::default()))
    }
}

impl<T: Clone + PartialEq + 'static> Rows<T> {
    /// The model to hand to the markup.
    pub fn model(&self) -> ModelRc<T> {
        ModelRc::from(self.0.clone())
    }

    /// Makes the rows these, touching only those that differ.
    pub fn set(&self, rows: impl IntoIterator<Item = T>) {
        let mut count = 0;
        for (index, row) in rows.into_iter().enumerate() {
            match self.0.row_data(index) {
                Some(old) if old == row => {}
                Some(_) => self.0.set_row_data(index, row),
                None => self.0.push(row),
            }
            count = index + 1;
        }
        while self.0.row_count() > count {
            self.0.remove(self.0.row_count() - 1);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_become_what_was_set() {
        let rows = Rows::default();
        for set in [vec![1, 2, 3], vec![1, 5], vec![], vec![7]] {
            rows.set(set.clone());
            assert_eq!(rows.0.iter().collect::<Vec<_>>(), set);
        }
    }
}
