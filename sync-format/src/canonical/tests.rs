//! Tests of the canonical encoding.
