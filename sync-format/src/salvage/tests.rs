//! Tests of the search for whole items.
