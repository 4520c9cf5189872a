//! Tests of both disks.
