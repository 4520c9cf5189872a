//! Tests of the procedures.

mod data;
