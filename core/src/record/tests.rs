//! Tests of the bodies: pinned digests, round trips, strict reading.
