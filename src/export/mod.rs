//! Bytes for other programs: STL, STEP, JSON, PNG. No I/O.
