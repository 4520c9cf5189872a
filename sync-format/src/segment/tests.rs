//! Tests of segment files.
