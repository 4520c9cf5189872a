//! Tests of the envelope.
