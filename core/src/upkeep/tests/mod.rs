//! Tests of upkeep.
