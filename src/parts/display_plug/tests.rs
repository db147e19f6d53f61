//! Tests of display plugs.
