//! Tests of the store.
