//! Hand-built solids against closed forms, and through every exporter.

mod build;
mod properties;
mod truck;
