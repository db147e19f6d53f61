//! A chassis that somebody else made, where it sits in the handle, to be cut
//! wherever a part of ours comes near it.

use std::sync::{Arc, OnceLock};

use crate::measure::frame::direction;
use crate::measure::{Vec2, Vec3};
use crate::mesh::{FileUnit, ReadError, ReadMesh, Remark, Soup, piece, read_mesh};
use crate::sight::Tree;

/// Widest and longest mesh that is taken for a chassis, mm: twice the widest
/// handle and more than the longest bore that a job may have. What is larger was
/// read in the wrong unit. Common practice, no source.
const LARGEST: (f64, f64) = (400.0, 2000.0);

/// Least size of a chassis in any direction, mm: what is smaller was read in the
/// wrong unit. Common practice, no source.
const SMALLEST: f64 = 2.0;

/// Most triangles of a chassis that is shown, so that a page with it still goes by mail:
/// less than a megabyte.
const MOST_SHOWN: usize = 40_000;

/// Volume up to which a closed surface encloses nothing, mm3: float noise.
const NO_VOLUME: f64 = 1e-6;

/// Axis of a mesh file that runs along the bore.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileAxis {
    /// y becomes x and z becomes y.
    X,
    /// z becomes x and x becomes y.
    Y,
    /// As it is.
    Z,
}

impl FileAxis {
    /// The words for it, in the order of the variants.
    pub const WORDS: [&str; 3] = ["x", "y", "z"];

    /// The axis of a word; z of any other.
    pub fn named(word: &str) -> FileAxis {
        match word {
            "x" => FileAxis::X,
            "y" => FileAxis::Y,
            _ => FileAxis::Z,
        }
    }

    /// Turns a mesh so that the axis is z.
    pub fn upright(self, soup: Soup) -> Soup {
        match self {
            FileAxis::X => soup.mapped(|p| Vec3::new(p.y, p.z, p.x)),
            FileAxis::Y => soup.mapped(|p| Vec3::new(p.z, p.x, p.y)),
            FileAxis::Z => soup,
        }
    }
}

/// How a chassis sits in the handle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChassisPlace {
    /// The file's axis that runs along the bore.
    pub axis: FileAxis,
    /// Turn about that axis, degrees, counter-clockwise seen from the front.
    pub turn: f64,
    /// Shift after the turn, mm.
    pub shift: Vec3,
}

/// The ways by which parts get into a chassis.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Entry {
    /// Along z from the end cap's end.
    Cap,
    /// From +y through a window.
    Window,
    /// By whichever is open.
    Either,
}

/// Why a mesh is no chassis to hold parts against.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ChassisError {
    /// The file cannot be read.
    #[error("{0}")]
    Read(#[from] ReadError),
    /// Triangles are missing.
    #[error("{text}")]
    Incomplete {
        /// What does not agree.
        text: String,
    },
    /// The surface does not enclose anything.
    #[error(
        "its surface is open or its triangles face both ways: {edges} edges have no neighbour, so \
         what is material is a guess"
    )]
    Open {
        /// Edges without a partner.
        edges: usize,
    },
    /// No chassis is of that size.
    #[error(
        "it is {:.3} x {:.3} mm across and {:.3} mm long: no chassis of a handle", size.x, size.y,
        size.z
    )]
    Absurd {
        /// Its box, mm.
        size: Vec3,
    },
    /// It encloses no volume.
    #[error("it encloses no material")]
    NoMaterial,
}

impl ChassisError {
    /// What a person can do about it.
    pub fn hint(&self) -> String {
        match self {
            ChassisError::Read(error) => error.hint().to_owned(),
            ChassisError::Incomplete { .. } => {
                "export it again from the program that made it".to_owned()
            }
            ChassisError::Open { .. } | ChassisError::NoMaterial => {
                "`borewright check` says where it is open; mend it, and export it again".to_owned()
            }
            ChassisError::Absurd { .. } => format!(
                "write the file's `unit` ({}) and the `axis` that runs along the bore; a chassis is \
                 {SMALLEST} to {} mm across and up to {} mm long",
                FileUnit::WORDS.join(", "),
                LARGEST.0,
                LARGEST.1
            ),
        }
    }
}

/// A closed mesh with material inside, in the handle's frame.
#[derive(Clone, Debug)]
pub struct Chassis {
    name: String,
    soup: Soup,
    bounds: (Vec3, Vec3),
    entry: Entry,
    remarks: Vec<String>,
    tree: OnceLock<Arc<Tree>>,
    shown: OnceLock<Soup>,
}

impl Chassis {
    /// The chassis in the bytes of a mesh file called `name`. One that is inside
    /// out is turned over; several bodies count as one.
    ///
    /// # Errors
    /// See [`ChassisError`]. Time and memory grow with the number of bytes only.
    pub fn read(
        name: impl Into<String>,
        bytes: &[u8],
        unit: Option<FileUnit>,
        place: &ChassisPlace,
        entry: Entry,
    ) -> Result<Chassis, ChassisError> {
        let ReadMesh { bodies, remarks, .. } = read_mesh(bytes, unit)?;
        if let Some(Remark { text, .. }) = remarks.iter().find(|remark| remark.grave) {
            return Err(ChassisError::Incomplete { text: text.clone() });
        }
        let soup = place.axis.upright(Soup::joined(bodies.into_iter().map(|b| b.soup)));
        let mut chassis = Chassis::new(name, soup, place, entry)?;
        chassis.remarks.extend(remarks.into_iter().map(|remark| remark.text));
        Ok(chassis)
    }

    /// The same of triangles whose axis is z.
    ///
    /// # Errors
    /// See [`ChassisError`].
    pub fn new(
        name: impl Into<String>,
        soup: Soup,
        place: &ChassisPlace,
        entry: Entry,
    ) -> Result<Chassis, ChassisError> {
        let (low, high) = soup.bounds();
        let size = high - low;
        let across = size.x.max(size.y);
        if across > LARGEST.0 || size.z > LARGEST.1 || size.max() < SMALLEST {
            return Err(ChassisError::Absurd { size });
        }
        let edges = soup.unpaired_edges();
        if edges > 0 {
            return Err(ChassisError::Open { edges });
        }
        let volume = soup.signed_volume();
        if volume.abs() <= NO_VOLUME {
            return Err(ChassisError::NoMaterial);
        }
        let mut remarks = Vec::new();
        let soup = if volume < 0.0 {
            remarks.push("the mesh was inside out and was turned over".to_owned());
            soup.reversed()
        } else {
            soup
        };
        // The clocking 0 is +y: so the image of y is the turn's own direction.
        let y = direction(place.turn);
        let (x, shift) = (Vec2::new(y.y, -y.x), place.shift);
        let still = place.turn == 0.0 && shift == Vec3::zeros();
        let placed = |p: Vec3| {
            let across = x * p.x + y * p.y;
            Vec3::new(across.x, across.y, p.z) + shift
        };
        let soup = if still { soup } else { soup.mapped(placed) };
        Ok(Chassis {
            name: name.into(),
            bounds: soup.bounds(),
            soup,
            entry,
            remarks,
            tree: OnceLock::new(),
            shown: OnceLock::new(),
        })
    }

    /// Name of its file, as written in the job.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its triangles.
    pub fn soup(&self) -> &Soup {
        &self.soup
    }

    /// Its triangles for rays: made when first asked for, then shared by all parts
    /// and checks.
    pub fn tree(&self) -> Arc<Tree> {
        self.tree.get_or_init(|| Arc::new(Tree::new(&self.soup))).clone()
    }

    /// Its triangles for the eye: fewer, if there are many.
    pub fn shown(&self) -> &Soup {
        self.shown.get_or_init(|| self.soup.coarsened(MOST_SHOWN))
    }

    /// Lowest and highest coordinates, mm.
    pub fn bounds(&self) -> (Vec3, Vec3) {
        self.bounds
    }

    /// Its corner furthest from the bore's axis between two heights, mm.
    pub fn furthest(&self, low: f64, high: f64) -> Option<Vec3> {
        let within = self.soup.vertices().iter().filter(|v| low <= v.z && v.z <= high);
        within.copied().max_by(|a, b| a.xy().norm().total_cmp(&b.xy().norm()))
    }

    /// The ways by which parts get in.
    pub fn entry(&self) -> Entry {
        self.entry
    }

    /// What was odd about its file.
    pub fn remarks(&self) -> &[String] {
        &self.remarks
    }

    /// What decides about material between two corners: all triangles that reach
    /// their range of x and of z, and in y all that lie below the upper.
    pub(crate) fn near(&self, low: Vec3, high: Vec3) -> NearChassis {
        let meets = |[a, b, c]: &[Vec3; 3]| {
            let (least, most) = (a.inf(b).inf(c), a.sup(b).sup(c));
            least.x <= high.x
                && low.x <= most.x
                && least.z <= high.z
                && low.z <= most.z
                && least.y <= high.y
        };
        let all = (0..self.soup.triangles().len()).map(|i| self.soup.corners(i));
        let mut triangles: Vec<[Vec3; 3]> = all.filter(meets).collect();
        triangles.sort_by(|p, q| bottom(p).total_cmp(&bottom(q)));
        NearChassis { triangles }
    }
}

fn bottom([a, b, c]: &[Vec3; 3]) -> f64 {
    a.z.min(b.z).min(c.z)
}

fn top([a, b, c]: &[Vec3; 3]) -> f64 {
    a.z.max(b.z).max(c.z)
}

/// Triangles of a chassis around a part, by their lowest height.
#[derive(Clone, Debug)]
pub(crate) struct NearChassis {
    triangles: Vec<[Vec3; 3]>,
}

impl NearChassis {
    /// The triangles.
    pub fn triangles(&self) -> &[[Vec3; 3]] {
        &self.triangles
    }

    /// The boundary at one height, see [`crate::mesh::cut_at`].
    pub fn at(&self, z: f64) -> Vec<[Vec2; 2]> {
        let end = self.triangles.partition_point(|t| bottom(t) <= z);
        self.triangles[..end].iter().filter_map(|t| piece(t, z)).collect()
    }

    /// Those of them that decide between two heights, mm.
    pub fn within(&self, low: f64, high: f64) -> NearChassis {
        let end = self.triangles.partition_point(|t| bottom(t) <= high);
        let meets = |t: &&[Vec3; 3]| top(t) >= low;
        NearChassis { triangles: self.triangles[..end].iter().filter(meets).copied().collect() }
    }

    /// Cuts at rising heights: each triangle is looked at where it is only.
    pub fn rising(&self) -> Rising<'_> {
        Rising { near: self, next: 0, active: Vec::new() }
    }
}

/// Cuts of a chassis at heights that rise.
pub(crate) struct Rising<'a> {
    near: &'a NearChassis,
    next: usize,
    active: Vec<usize>,
}

impl Rising<'_> {
    /// The boundary at a height that is not below the one before.
    pub fn at(&mut self, z: f64) -> Vec<[Vec2; 2]> {
        let triangles = &self.near.triangles;
        self.active.retain(|&i| top(&triangles[i]) > z);
        while let Some(triangle) = triangles.get(self.next).filter(|t| bottom(t) <= z) {
            if top(triangle) > z {
                self.active.push(self.next);
            }
            self.next += 1;
        }
        self.active.iter().filter_map(|&i| piece(&triangles[i], z)).collect()
    }
}
