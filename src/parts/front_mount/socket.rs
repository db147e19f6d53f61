//! The socket that takes the front tube: its fit, and the screw that holds the
//! tube.

use super::super::declared::{Mating, Term};
use super::super::{PartContext, Refusal};
use super::spec::Spec;
use crate::measure::rounding::{NOISE, up};
use crate::measure::{Values, Vec3};
use crate::trade::screws::{ROWS, Size, ThreadInput};

/// Engagement that a metal wall should give a retention screw, in diameters of
/// its thread. Common practice, no source.
pub(super) const LEAST_ENGAGEMENT: f64 = 1.0;
/// Threads that differ by less are one size, mm.
const SAME_THREAD: f64 = 0.01;

/// What is known of the socket.
#[derive(Clone, Debug)]
pub(super) struct Socket {
    /// Inside of the socket and outside of the tube, mm, if both are known.
    pub fit: Option<(f64, f64)>,
    pub screw: Option<Retention>,
}

/// The screw that holds the front tube.
#[derive(Clone, Debug)]
pub(super) struct Retention {
    pub thread: f64,
    pub pitch: f64,
    /// The wall that its thread is cut in, mm.
    pub wall: f64,
    /// Length of thread in that wall, mm.
    pub engaged: f64,
    /// From the wall's inside to the tube, mm: half the play, or all of it
    /// where the tube lies on the far side.
    pub gap: Option<(f64, f64)>,
    /// How far its tip reaches past the wall's inside while its end is flush
    /// with the outside, mm; negative where it does not come through.
    pub through: f64,
    /// Height of its middle in the handle's frame, mm.
    pub z: f64,
    /// From the mount's front end to its thread, along the bore, mm.
    pub clear: f64,
    /// Its size in the table of threads, if it is one of those.
    pub size: Option<Size>,
}

impl Socket {
    /// What `values` say of the socket.
    ///
    /// # Errors
    /// A tube that does not go in; a screw that meets the mount, does not
    /// reach the tube, or whose wall is not known.
    pub(super) fn new(
        context: &PartContext<'_>,
        values: &Values,
        spec: &Spec,
    ) -> Result<Socket, Refusal> {
        let socket = values.maybe_number("socket_diameter");
        let fit = socket.zip(values.maybe_number("tube_diameter"));
        if let Some((socket, tube)) = fit.filter(|(socket, tube)| tube > socket) {
            let what = format!(
                "a front tube of {tube:.2} mm does not go into a socket of {socket:.2}: too thick \
                 by {:.2}",
                tube - socket
            );
            return Err(Refusal::new(what)
                .at(values, "tube_diameter")
                .hint(format!("tube_diameter = {socket:.2} or less goes in"))
                .hint("measure both again: a front tube is bought for its socket"));
        }
        let Some(screw) = values.maybe_component("retention") else {
            return Ok(Socket { fit, screw: None });
        };
        let around = context.handle.outside().zip(socket).map(|(o, s)| 0.5 * (o - s));
        let Some(wall) = values.maybe_number("socket_wall").or(around).filter(|w| *w > 0.0) else {
            let what = "the retention screw needs a wall of more than 0 mm around the socket, and \
                        none is known";
            return Err(Refusal::new(what)
                .at(values, "retention")
                .hint("give socket_wall, or socket_diameter and the handle's outside"));
        };
        let thread = screw.number("thread");
        let z = spec.shoulder + values.number("retention_z");
        let retention = Retention {
            thread,
            pitch: screw.number("pitch"),
            wall,
            engaged: wall.min(values.number("retention_length")),
            gap: fit.map(|(socket, tube)| (0.5 * (socket - tube), socket - tube)),
            through: values.number("retention_length") - wall,
            z,
            clear: z - 0.5 * thread - spec.top,
            size: Size::ALL
                .iter()
                .copied()
                .zip(ROWS)
                .find(|(_, row)| (row.nominal_mm - thread).abs() < SAME_THREAD)
                .map(|(size, _)| size),
        };
        retention.check(values)?;
        Ok(Socket { fit, screw: Some(retention) })
    }

    /// How the tube fits, for the checker.
    pub(super) fn mating(&self, values: &Values, shoulder: f64) -> Option<Mating> {
        let (socket, tube) = self.fit?;
        let off = values.number("tube_tolerance");
        let at = Vec3::new(0.0, 0.5 * socket, shoulder);
        Some(
            Mating::new("front tube in its socket", at, values.path_of("tube_diameter"))
                .term(
                    Term::even("socket, caliper", socket, off).by(values.path_of("tube_tolerance")),
                )
                .term(
                    Term::even("front tube, caliper", -tube, off)
                        .by(values.path_of("tube_tolerance")),
                )
                .limits(0.0, Some(values.number("tube_play"))),
        )
    }
}

impl Retention {
    /// The thread's dimensions, if its size is in the table.
    pub(super) fn input(&self) -> Option<ThreadInput> {
        self.size.map(|size| ThreadInput { size })
    }

    fn check(&self, values: &Values) -> Result<(), Refusal> {
        if self.clear < -NOISE {
            let what = format!(
                "the retention screw at z {:.2} meets the mount: its thread of {:.2} mm reaches \
                 {:.2} below the mount's front end",
                self.z, self.thread, -self.clear
            );
            let needed = values.number("retention_z") - self.clear;
            return Err(Refusal::new(what)
                .at(values, "retention_z")
                .hint(format!("{:.2} mm or more before the shoulder clears it", up(needed))));
        }
        let needed = self.gap.map_or(0.0, |(middle, _)| middle);
        if self.through < needed - NOISE {
            let what = format!(
                "the retention screw does not reach the front tube: {:.2} mm long, it needs {:.2} \
                 through a wall of {:.2}: short by {:.2}",
                values.number("retention_length"),
                self.wall + needed,
                self.wall,
                needed - self.through
            );
            return Err(Refusal::new(what).at(values, "retention_length").hint(format!(
                "a screw of {:.2} mm or longer reaches it",
                up(self.wall + needed)
            )));
        }
        Ok(())
    }
}
