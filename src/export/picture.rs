//! Pictures of meshes as PNG: orthographic, shaded, with dark edges.
//!
//! A plain z-buffer renderer with nine samples a pixel. It works through the
//! picture in bands, so its memory does not grow with the height.

mod band;
mod cut;
mod edges;
mod glyphs;
mod legend;
mod scene;
#[cfg(test)]
mod tests;
mod tint;

use crate::measure::Vec3;
use crate::mesh::Mesh;

use band::Band;
pub use cut::Cut;
pub use scene::CREASE_COS;
use scene::{Frame, Scene};
pub use tint::{Scale, Tint};

/// Samples a pixel along each axis.
const SAMPLES: usize = 3;

/// Pixel rows rendered at a time.
const BAND_ROWS: usize = 64;

/// Largest picture side, pixels.
const MAX_SIDE: u32 = 8192;

/// Colours of neighbouring bodies, sRGB, to be taken in turn.
pub const BODY_COLOURS: [[u8; 3]; 4] =
    [[196, 164, 110], [122, 158, 160], [170, 140, 172], [158, 166, 118]];

/// A mesh in a picture.
#[derive(Clone, Copy, Debug)]
pub struct PictureBody<'a> {
    /// The mesh.
    pub mesh: &'a Mesh,
    /// Colour of a surface in full light, sRGB.
    pub colour: [u8; 3],
    /// Where the mesh is moved to, mm; see [`arrange`].
    pub shift: Vec3,
    /// Whether what lies behind it shows through.
    pub glassy: bool,
    /// Colours of its surface in place of `colour`, in its own frame.
    pub tint: Option<&'a Tint>,
}

impl<'a> PictureBody<'a> {
    /// A mesh at its own place.
    pub fn new(mesh: &'a Mesh, colour: [u8; 3]) -> PictureBody<'a> {
        PictureBody { mesh, colour, shift: Vec3::zeros(), glassy: false, tint: None }
    }

    /// The same, with what lies behind it showing through: a component in or
    /// around the body before it.
    pub fn glassy(self) -> PictureBody<'a> {
        PictureBody { glassy: true, ..self }
    }

    /// The same in the colours of what was measured on it.
    pub fn tinted(self, tint: Option<&'a Tint>) -> PictureBody<'a> {
        PictureBody { tint, ..self }
    }
}

/// Words in a picture: letters a-z in capitals, digits, `.`, `-` and `_`;
/// anything else leaves a space.
#[derive(Clone, Debug, PartialEq)]
pub struct Label {
    /// Where its middle is, mm.
    pub at: Vec3,
    /// The words.
    pub text: String,
    /// A point that a line leads to, mm.
    pub tick: Option<Vec3>,
}

/// From where and how large a picture is taken. The bodies always fill it, up
/// to a margin.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// The direction in which the eye looks; any length but zero. Default: from
    /// the front, right and above, onto a part that lies along z.
    pub direction: Vec3,
    /// The direction that is up in the picture; default +y. Must not be
    /// parallel to `direction`.
    pub up: Vec3,
    /// Width, pixels, 1 to 8192; default 1200.
    pub width: u32,
    /// Height, pixels, 1 to 8192; default 560.
    pub height: u32,
    /// Colour behind the bodies, sRGB; default a warm near white.
    pub background: [u8; 3],
    /// Whether a scale bar in mm is drawn; it holds for lengths that lie across
    /// the direction of view. Default yes.
    pub scale_bar: bool,
    /// Whether lines alone are drawn, those that are hidden dashed. Default no.
    pub lines_only: bool,
    /// A plane that the bodies are cut at; what lies before it is taken away. One
    /// that the view sees from its edge cuts nothing. Default none.
    pub cut: Option<Cut>,
    /// The scale of tints, drawn at the lower right. Default none.
    pub scale: Option<Scale>,
}

impl Default for View {
    fn default() -> Self {
        View {
            direction: Vec3::new(-0.62, -0.62, -0.55),
            up: Vec3::y(),
            width: 1200,
            height: 560,
            background: [247, 245, 241],
            scale_bar: true,
            lines_only: false,
            cut: None,
            scale: None,
        }
    }
}

/// Lays the bodies in a row from left to right as seen in `view`, `gap` mm
/// apart, centred above one another and in depth. Glassy ones stay with the
/// body before them.
pub fn arrange(bodies: &mut [PictureBody], view: &View, gap: f64) {
    let frame = Frame::of(view);
    let mut right = 0.0;
    for group in bodies.chunk_by_mut(|_, next| next.glassy) {
        let extents = group.iter().map(|b| frame.extent(b.mesh.vertices()));
        let Some((lo, hi)) = extents.reduce(|p, q| (p.0.inf(&q.0), p.1.sup(&q.1))) else {
            continue;
        };
        let middle = 0.5 * (lo + hi);
        let shift = frame.to_world(Vec3::new(right - lo.x, -middle.y, -middle.z));
        group.iter_mut().for_each(|body| body.shift = shift);
        right += hi.x - lo.x + gap;
    }
}

/// The picture as PNG bytes, 8 bits RGB. The same input gives the same bytes.
/// A view out of range is brought into it; a body whose shift is not finite is
/// left out.
pub fn picture(bodies: &[PictureBody], view: &View) -> Vec<u8> {
    picture_labelled(bodies, &[], view)
}

/// The same with labels, which stand before all else.
pub fn picture_labelled(bodies: &[PictureBody], labels: &[Label], view: &View) -> Vec<u8> {
    Pixels::of(bodies, labels, view).png()
}

/// A picture as pixels.
#[derive(Clone, Debug, PartialEq)]
pub struct Pixels {
    /// Width, pixels.
    pub width: u32,
    /// Height, pixels.
    pub height: u32,
    /// Red, green and blue of each, row by row from the upper left.
    pub rgb: Vec<u8>,
}

impl Pixels {
    /// The colour of a pixel inside the picture.
    pub fn at(&self, x: u32, y: u32) -> [u8; 3] {
        let i = 3 * (y as usize * self.width as usize + x as usize);
        [self.rgb[i], self.rgb[i + 1], self.rgb[i + 2]]
    }

    /// The picture as PNG bytes, 8 bits RGB.
    pub fn png(&self) -> Vec<u8> {
        encode(&self.rgb, self.width, self.height)
    }

    /// What [`picture_labelled`] encodes.
    pub fn of(bodies: &[PictureBody], labels: &[Label], view: &View) -> Pixels {
        let width = view.width.clamp(1, MAX_SIDE);
        let height = view.height.clamp(1, MAX_SIDE);
        let scene = Scene::new((bodies, labels), view, width as usize, height as usize);
        let mut pixels = Vec::with_capacity(3 * (width * height) as usize);
        let mut top = 0;
        while top < height as usize {
            let rows = BAND_ROWS.min(height as usize - top);
            let mut band = Band::new(&scene, top, rows);
            band.paint();
            band.resolve(&mut pixels);
            top += rows;
        }
        if let Some(scale) = &view.scale {
            legend::paint(scale, &mut pixels, width as usize, height as usize);
        }
        Pixels { width, height, rgb: pixels }
    }
}

fn encode(pixels: &[u8], width: u32, height: u32) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().expect("a Vec takes all bytes");
    writer.write_image_data(pixels).expect("the picture has its size");
    writer.finish().expect("a Vec takes all bytes");
    bytes
}
