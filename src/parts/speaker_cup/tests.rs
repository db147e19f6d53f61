//! Tests of speaker cups.
