//! From a text to a validated job, and the command line around it.

mod card;
mod chassis;
mod commands;
mod correct;
mod coupon;
mod drawing;
mod edits;
mod faults;
mod fit_report;
mod layout;
mod make;
mod mutations;
mod plate;
mod support;
mod survey;
