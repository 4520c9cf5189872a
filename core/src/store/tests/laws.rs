//! whole histories
