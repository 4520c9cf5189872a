//! Tests of the plan of one station.
