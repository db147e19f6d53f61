//! Checks of meshes: thickness against closed forms, sets with known answers,
//! bad files, verdicts by profile.

#[allow(dead_code, reason = "shared; each test binary uses its own part")]
#[path = "../engine/random.rs"]
mod random;

mod accuracy;
mod bad_meshes;
mod components;
mod fit;
mod formats;
mod large;
mod own_parts;
mod random_stacks;
mod shapes;
mod speed;
mod standing;
mod telling;
mod undersides;
#[path = "../reference/vary.rs"]
mod vary;
mod verdicts;
