//! STEP files (ISO 10303-21) with exact boundary representations, in the
//! AP214 schema: the one every modelling program reads.

use std::collections::HashMap;
use std::fmt::Write;

use crate::measure::Vec3;
use crate::solid::{CubicSpline, Curve, Face, SPLINE_TOLERANCE, Solid, Surface};

/// The schema's name and object identifier in FILE_SCHEMA (ISO 10303-214).
const SCHEMA: &str = "AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }";

/// One named body of a STEP file.
#[derive(Clone, Copy, Debug)]
pub struct StepProduct<'a> {
    /// What programs list the body as.
    pub name: &'a str,
    /// The body, mm.
    pub solid: &'a Solid,
}

/// What the head of a STEP file says about it.
#[derive(Clone, Copy, Debug)]
pub struct StepHeader<'a> {
    /// The file's own name.
    pub file_name: &'a str,
    /// When it was made, in ISO 8601 form such as `2024-05-01T12:00:00`. Not
    /// checked.
    pub time_stamp: &'a str,
    /// What it holds, for people.
    pub description: &'a str,
}

/// The text of a STEP file with one product per body, in millimetres and
/// radians. The same input gives the same bytes.
///
/// Planes, cylinders, cones, lines, circles and ellipses are written as what
/// they are; traced curves as cubic B-splines within 1e-6 mm, which is also
/// the uncertainty the file states (more, if a trace could not be met).
pub fn step(products: &[StepProduct], header: &StepHeader) -> String {
    let mut w = Writer::default();
    let shapes: Vec<Body> = products.iter().map(|p| body(&mut w, p)).collect();
    let deviation = shapes.iter().map(|s| s.deviation).fold(SPLINE_TOLERANCE, f64::max);
    let context = geometric_context(&mut w, deviation);
    structure(&mut w, products, &shapes, context);

    let mut out = String::with_capacity(w.data.len() + 1024);
    out.push_str("ISO-10303-21;\nHEADER;\n");
    let _ = write!(
        out,
        "FILE_DESCRIPTION(({}),'2;1');\nFILE_NAME({},{},(''),(''),'borewright {}','borewright','');\n",
        text(header.description),
        text(header.file_name),
        text(header.time_stamp),
        env!("CARGO_PKG_VERSION"),
    );
    let _ = write!(out, "FILE_SCHEMA(('{SCHEMA}'));\nENDSEC;\nDATA;\n");
    out.push_str(&w.data);
    out.push_str("ENDSEC;\nEND-ISO-10303-21;\n");
    out
}

/// Instance name, without the `#`.
type Id = u32;

/// Numbers the instances. Geometry is shared: what has been written once is
/// referred to.
#[derive(Default)]
struct Writer {
    data: String,
    last: Id,
    known: HashMap<String, Id>,
}

impl Writer {
    fn add(&mut self, entity: &str) -> Id {
        self.last += 1;
        let _ = writeln!(self.data, "#{}={entity};", self.last);
        self.last
    }

    fn share(&mut self, entity: String) -> Id {
        if let Some(&id) = self.known.get(&entity) {
            return id;
        }
        let id = self.add(&entity);
        self.known.insert(entity, id);
        id
    }

    fn triple(&mut self, kind: &str, p: Vec3) -> Id {
        let mut entity = String::with_capacity(80);
        let _ = write!(entity, "{kind}('',({},{},{}))", Real(p.x), Real(p.y), Real(p.z));
        self.share(entity)
    }

    fn point(&mut self, p: Vec3) -> Id {
        self.triple("CARTESIAN_POINT", p)
    }

    fn direction(&mut self, d: Vec3) -> Id {
        self.triple("DIRECTION", d)
    }

    fn placement(&mut self, origin: Vec3, axis: Vec3, x: Vec3) -> Id {
        let (o, a, x) = (self.point(origin), self.direction(axis), self.direction(x));
        self.share(format!("AXIS2_PLACEMENT_3D('',#{o},#{a},#{x})"))
    }
}

struct Body {
    /// The solid.
    brep: Id,
    /// Of the splines from their curves, mm.
    deviation: f64,
}

fn body(w: &mut Writer, product: &StepProduct) -> Body {
    let solid = product.solid;
    let mut body = Body { brep: 0, deviation: 0.0 };
    let mut vertices: Vec<Option<Id>> = vec![None; solid.vertices().len()];
    let mut edges: Vec<Option<Id>> = vec![None; solid.edges().len()];
    let mut shells = Vec::with_capacity(solid.shells().len());
    for shell in solid.shells() {
        let mut faces = Vec::with_capacity(shell.faces.len());
        for &f in &shell.faces {
            let face = &solid.faces()[f as usize];
            let mut bounds = Vec::with_capacity(face.loops.len());
            for uses in &face.loops {
                let mut path = Vec::with_capacity(uses.len());
                for u in uses {
                    let id = match edges[u.edge as usize] {
                        Some(id) => id,
                        None => edge_curve(w, solid, u.edge, &mut vertices, &mut body.deviation),
                    };
                    edges[u.edge as usize] = Some(id);
                    let entity = format!("ORIENTED_EDGE('',*,*,#{id},{})", logical(u.forward));
                    path.push(w.add(&entity));
                }
                let path = w.add(&format!("EDGE_LOOP('',{})", list(&path)));
                let kind = if bounds.is_empty() { "FACE_OUTER_BOUND" } else { "FACE_BOUND" };
                bounds.push(w.add(&format!("{kind}('',#{path},{})", logical(!shell.void))));
            }
            let surface = surface(w, solid, face);
            let sense = logical(face.flipped == shell.void);
            let entity = format!("ADVANCED_FACE('',{},#{surface},{sense})", list(&bounds));
            faces.push(w.add(&entity));
        }
        shells.push(w.add(&format!("CLOSED_SHELL('',{})", list(&faces))));
    }
    let name = text(product.name);
    let outer = shells.first().copied().unwrap_or_default();
    body.brep = if shells.len() > 1 {
        // The entity wants a void's shell to face into the void when taken with
        // orientation false (ISO 10303-42, brep_with_voids, from memory), so
        // the faces of a void are written turned over.
        let oriented: Vec<Id> = shells[1..]
            .iter()
            .map(|s| w.add(&format!("ORIENTED_CLOSED_SHELL('',*,#{s},.F.)")))
            .collect();
        w.add(&format!("BREP_WITH_VOIDS({name},#{outer},{})", list(&oriented)))
    } else {
        w.add(&format!("MANIFOLD_SOLID_BREP({name},#{outer})"))
    };
    body
}

fn edge_curve(
    w: &mut Writer,
    solid: &Solid,
    edge: u32,
    vertices: &mut [Option<Id>],
    deviation: &mut f64,
) -> Id {
    let edge = &solid.edges()[edge as usize];
    let ends = [edge.from, edge.to].map(|v| {
        if let Some(id) = vertices[v as usize] {
            return id;
        }
        let point = w.point(solid.vertices()[v as usize]);
        let id = w.add(&format!("VERTEX_POINT('',#{point})"));
        vertices[v as usize] = Some(id);
        id
    });
    let start = solid.vertices()[edge.from as usize];
    let end = solid.vertices()[edge.to as usize];
    let curve = curve(w, &edge.curve, start, end, deviation);
    w.add(&format!("EDGE_CURVE('',#{},#{},#{curve},.T.)", ends[0], ends[1]))
}

fn curve(w: &mut Writer, curve: &Curve, start: Vec3, end: Vec3, deviation: &mut f64) -> Id {
    match curve {
        Curve::Line { .. } => {
            let (p, d) = (w.point(start), w.direction((end - start).normalize()));
            let vector = w.share(format!("VECTOR('',#{d},1.)"));
            w.share(format!("LINE('',#{p},#{vector})"))
        }
        Curve::Circle { centre, x, y, radius, .. } => {
            let place = w.placement(*centre, x.cross(y), *x);
            w.share(format!("CIRCLE('',#{place},{})", Real(*radius)))
        }
        Curve::Ellipse { centre, x, y, .. } => {
            let place = w.placement(*centre, x.cross(y).normalize(), x.normalize());
            w.share(format!("ELLIPSE('',#{place},{},{})", Real(x.norm()), Real(y.norm())))
        }
        Curve::Traced { .. } => {
            let spline = CubicSpline::through(curve, start, end);
            *deviation = deviation.max(spline.deviation);
            let points: Vec<Id> = spline.control_points.iter().map(|&p| w.point(p)).collect();
            let knots = spline.knots.len();
            let counts = join((0..knots).map(|k| spline.multiplicity(k)));
            let values = join(spline.knots.iter().map(|&k| Real(k)));
            w.share(format!(
                "B_SPLINE_CURVE_WITH_KNOTS('',3,{},.UNSPECIFIED.,.F.,.F.,({counts}),({values}),.UNSPECIFIED.)",
                list(&points)
            ))
        }
    }
}

fn surface(w: &mut Writer, solid: &Solid, face: &Face) -> Id {
    match face.surface {
        Surface::Plane { origin, normal, x } => {
            let place = w.placement(origin, normal, x);
            w.share(format!("PLANE('',#{place})"))
        }
        Surface::Cylinder { origin, axis, x, radius } => {
            let place = w.placement(origin, axis, x);
            w.share(format!("CYLINDRICAL_SURFACE('',#{place},{})", Real(radius)))
        }
        Surface::Cone { origin, axis, x, radius, slope } => {
            let (origin, radius) = on_nappe(solid, face, origin, axis, radius, slope);
            // The entity's half angle is positive: its cone opens along the axis.
            let axis = if slope < 0.0 { -axis } else { axis };
            let place = w.placement(origin, axis, x);
            let angle = slope.abs().atan();
            w.share(format!("CONICAL_SURFACE('',#{place},{},{})", Real(radius), Real(angle)))
        }
    }
}

/// A point of a cone's axis where the radius is positive, and that radius:
/// the entity cannot be placed at or beyond its apex.
fn on_nappe(
    solid: &Solid,
    face: &Face,
    origin: Vec3,
    axis: Vec3,
    radius: f64,
    slope: f64,
) -> (Vec3, f64) {
    if radius > 0.0 {
        return (origin, radius);
    }
    let mut best = (origin, radius);
    for &u in face.loops.iter().flatten() {
        let p = solid.vertices()[solid.brep().use_from(u) as usize];
        let v = (p - origin).dot(&axis);
        if radius + slope * v > best.1 {
            best = (origin + axis * v, radius + slope * v);
        }
    }
    best
}

fn geometric_context(w: &mut Writer, uncertainty: f64) -> Id {
    let length = w.add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))");
    let angle = w.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))");
    let solid_angle = w.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())");
    let uncertainty = w.add(&format!(
        "UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE({}),#{length},'distance_accuracy_value','')",
        Real(uncertainty)
    ));
    w.add(&format!(
        "(GEOMETRIC_REPRESENTATION_CONTEXT(3)\
         GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#{uncertainty}))\
         GLOBAL_UNIT_ASSIGNED_CONTEXT((#{length},#{angle},#{solid_angle}))\
         REPRESENTATION_CONTEXT('','3D'))"
    ))
}

/// What makes a body a product: names, versions and the use of its shape.
fn structure(w: &mut Writer, products: &[StepProduct], bodies: &[Body], context: Id) {
    let application =
        w.add("APPLICATION_CONTEXT('core data for automotive mechanical design processes')");
    w.add(&format!(
        "APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,#{application})"
    ));
    if products.is_empty() {
        return;
    }
    let mechanical = w.add(&format!("PRODUCT_CONTEXT('',#{application},'mechanical')"));
    let design =
        w.add(&format!("PRODUCT_DEFINITION_CONTEXT('part definition',#{application},'design')"));
    let frame = w.placement(Vec3::zeros(), Vec3::z(), Vec3::x());
    let mut ids = Vec::with_capacity(products.len());
    for (product, body) in products.iter().zip(bodies) {
        let name = text(product.name);
        let id = w.add(&format!("PRODUCT({name},{name},'',(#{mechanical}))"));
        let version = w.add(&format!("PRODUCT_DEFINITION_FORMATION('','',#{id})"));
        let definition = w.add(&format!("PRODUCT_DEFINITION('design','',#{version},#{design})"));
        let shape = w.add(&format!("PRODUCT_DEFINITION_SHAPE('','',#{definition})"));
        let representation = w.add(&format!(
            "ADVANCED_BREP_SHAPE_REPRESENTATION({name},(#{frame},#{}),#{context})",
            body.brep
        ));
        w.add(&format!("SHAPE_DEFINITION_REPRESENTATION(#{shape},#{representation})"));
        ids.push(id);
    }
    w.add(&format!("PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,{})", list(&ids)));
}

fn logical(value: bool) -> &'static str {
    if value { ".T." } else { ".F." }
}

fn list(ids: &[Id]) -> String {
    let mut out = String::with_capacity(7 * ids.len() + 2);
    for (i, id) in ids.iter().enumerate() {
        let _ = write!(out, "{}#{id}", if i == 0 { '(' } else { ',' });
    }
    out.push(')');
    out
}

fn join<T: std::fmt::Display>(items: impl Iterator<Item = T>) -> String {
    let mut out = String::new();
    for (i, item) in items.enumerate() {
        let _ = write!(out, "{}{item}", if i == 0 { "" } else { "," });
    }
    out
}

/// A real in the exchange structure's notation: always a point, upper-case
/// exponent, no negative zero, the fewest digits that read back the same
/// number.
struct Real(f64);

impl std::fmt::Display for Real {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        // Adding zero turns a negative zero into zero.
        let value = self.0 + 0.0;
        if value == value.trunc() && value.abs() < 1e15 {
            return write!(f, "{}.", value as i64);
        }
        let digits = format!("{value:?}");
        match digits.split_once('e') {
            None => f.write_str(&digits),
            Some((mantissa, exponent)) => {
                let point = if mantissa.contains('.') { "" } else { "." };
                write!(f, "{mantissa}{point}E{exponent}")
            }
        }
    }
}

/// A string in quotes, as the exchange structure wants it (ISO 10303-21,
/// 6.4.3): apostrophe and backslash doubled, what is not printable ASCII as
/// `\X2\` UTF-16 or `\X4\` UTF-32.
fn text(s: &str) -> String {
    let mut out = String::with_capacity(s.len() + 2);
    // Digits per character of the escape that is open.
    let mut open = 0;
    out.push('\'');
    for c in s.chars() {
        let digits = match c {
            ' '..='~' => 0,
            '\0'..='\u{ffff}' => 4,
            _ => 8,
        };
        if open != digits {
            out.push_str(if open > 0 { "\\X0\\" } else { "" });
            out.push_str(["", "\\X2\\", "\\X4\\"][digits / 4]);
            open = digits;
        }
        match (digits, c) {
            (0, '\'') => out.push_str("''"),
            (0, '\\') => out.push_str("\\\\"),
            (0, _) => out.push(c),
            _ => {
                let _ = write!(out, "{:0digits$X}", c as u32);
            }
        }
    }
    out.push_str(if open > 0 { "\\X0\\'" } else { "'" });
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reals_read_back_and_obey_the_grammar() {
        let cases = [
            (0.0, "0."),
            (-0.0, "0."),
            (1.0, "1."),
            (-12.5, "-12.5"),
            (1e-7, "1.E-7"),
            (-1.5e-9, "-1.5E-9"),
            (1e15, "1000000000000000.0"),
            (1e22, "1.E22"),
            (0.1 + 0.2, "0.30000000000000004"),
        ];
        for (value, expected) in cases {
            assert_eq!(Real(value).to_string(), expected);
        }
        let mut random = fastrand::Rng::with_seed(214);
        for _ in 0..10_000 {
            let value = (random.f64() - 0.5) * 10f64.powi(random.i32(-20..20));
            let written = Real(value).to_string();
            assert_eq!(written.parse::<f64>().unwrap(), value, "{written}");
            assert!(written.contains('.') && !written.contains('e'), "{written}");
        }
    }

    #[test]
    fn strings_are_escaped() {
        assert_eq!(text("rod"), "'rod'");
        assert_eq!(text("lamplighter's \\ rod"), "'lamplighter''s \\\\ rod'");
        assert_eq!(text("Gl\u{fc}hst\u{e4}be"), "'Gl\\X2\\00FC\\X0\\hst\\X2\\00E4\\X0\\be'");
        assert_eq!(text("\u{3bb}\u{3bc}"), "'\\X2\\03BB03BC\\X0\\'");
        assert_eq!(text("a\u{1f525}\u{e9}"), "'a\\X4\\0001F525\\X0\\\\X2\\00E9\\X0\\'");
        assert_eq!(text("a\nb"), "'a\\X2\\000A\\X0\\b'");
    }
}
