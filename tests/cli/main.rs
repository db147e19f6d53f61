//! From a text to a validated job, and the command line around it.

mod commands;
mod correct;
mod faults;
mod make;
mod mutations;
mod plate;
mod support;
