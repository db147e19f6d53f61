//! Tests of front mounts.
