//! Checks of meshes: thickness against closed forms, sets with known answers,
//! bad files, verdicts by profile.

#[path = "../engine/random.rs"]
mod random;

mod accuracy;
mod bad_meshes;
mod formats;
mod random_stacks;
mod shapes;
mod speed;
mod undersides;
mod verdicts;
