//! Running a calculator as a person would, and a table of checks.

use borewright::trade::{self, TradeError, Worked};

/// Runs `name` on inputs written `key=value`, separated by spaces.
pub fn try_run(name: &str, inputs: &str) -> Result<Worked, TradeError> {
    let pairs: Vec<(String, String)> = inputs
        .split_whitespace()
        .map(|pair| pair.split_once('=').expect("key=value"))
        .map(|(k, v)| (k.to_owned(), v.to_owned()))
        .collect();
    trade::calculator(name)?.work(&pairs)
}

pub fn run(name: &str, inputs: &str) -> Worked {
    try_run(name, inputs).unwrap_or_else(|e| panic!("{name} {inputs}: {e}\nhint: {}", e.hint()))
}

pub fn value(name: &str, inputs: &str, key: &str) -> f64 {
    run(name, inputs).value(key).unwrap_or_else(|| panic!("{name} {inputs}: no {key}"))
}

/// Inputs for every calculator, so chosen that each branch of the steps is met.
pub const EXAMPLES: &[(&str, &str)] = &[
    ("fit-odds", "middle_mm=0.2 even_mm=0.2,0.2 rattles_above_mm=0.5"),
    ("stack-up", "values_mm=40,-25,-2,-10 tolerances_mm=0.1,0.05,0.03,0.05 gap_max_mm=1"),
    ("plunger", "tip_mm=12 seat_mm=4.1 switch_mm=5 travel_mm=3"),
    ("iso-fit", "size_mm=30 fit=H7/g6"),
    ("iso-2768", "size_mm=25"),
    (
        "snap-cantilever",
        "length_mm=19 thickness_mm=3.28 width_mm=9.5 deflection_mm=2.4 tip_ratio=0.5 \
         modulus_mpa=1815 friction=0.6 allowed_percent=2",
    ),
    ("snap-annular", "joint_mm=26 other_mm=30 undercut_mm=0.26 modulus_mpa=1800"),
    ("snap-material", "material=petg across_layers=true"),
    (
        "curved-lip",
        "cylinder_mm=18.5 trough_mm=18.8 thickness_mm=1.2 length_mm=40 wrap_deg=20 \
         modulus_mpa=1700 allowed_percent=1",
    ),
    (
        "choose-lip",
        "cell_min_mm=18.2 cell_max_mm=18.6 clearance_mm=0.1 length_mm=50 modulus_mpa=1700 \
         allowed_percent=1 pull_out_min_n=4",
    ),
    (
        "leaf-contact",
        "length_mm=14 width_mm=6 thickness_mm=0.3 space_mm=67.5 free_height_mm=4 \
         cell_min_mm=64.5 cell_max_mm=65.5",
    ),
    ("wire", "gauge=24 run_m=0.15 current_a=2"),
    ("wire-bundle", "wires=7 wire_mm=1.7 flat_depth_mm=3.5"),
    ("clearance-hole", "size=M3 head=countersunk"),
    ("nut-trap", "size=M3"),
    ("thread", "size=M4"),
    ("self-tap", "screw_mm=3 plastic=pla"),
    ("heat-set", "insert_mm=4.4 length_mm=5 hole_mm=4.0"),
    ("split-ring", "free_mm=32 ring_wall_mm=2 ring_length_mm=12 squeeze_mm=0.4 modulus_mpa=1700"),
    (
        "seat-hold",
        "form=flat thread_mm=4 tip_mm=2.5 body_mm=4 depth_mm=1.5 floor_mm=15.5 outside_mm=17 \
         end_mm=6 strength_mpa=29",
    ),
    ("sound-ports", "speaker_mm=28"),
    ("light-bore", "bore_mm=6 bore_distance_mm=4 stone_mm=10 stone_distance_mm=12"),
    ("refraction", "index_to=1.5443 incidence_deg=45 slab_mm=10"),
    ("sellmeier", "material=bk7 wavelength_nm=520"),
    ("glow", "half_angle_deg=40 index=1.5443 taper_deg=20"),
    ("growth", "size_mm=40 expansion_per_k=68 rise_k=40 shrinkage_percent=0.4"),
    ("cost-filament", "volume_mm3=8000 area_mm2=5000 height_mm=40"),
    ("cost-resin", "volume_mm3=8000 height_mm=40"),
    ("stack-up", "values_mm=10,4 tolerances_mm=0.1,0.2 sensitivities=-0.5,2 gap_min_mm=0"),
    ("plunger", "tip_mm=-12 seat_mm=-19 switch_mm=5 travel_mm=1.5 basis=rss"),
    ("iso-fit", "size_mm=100 fit=JS9/p6"),
    (
        "snap-cantilever",
        "length_mm=12 thickness_mm=1.5 width_mm=5 deflection_mm=0.8 tip_ratio=0.3 modulus_mpa=1700 \
         friction=1.2 exit_deg=80 allowed_percent=1",
    ),
    ("snap-annular", "joint_mm=30 other_mm=26 undercut_mm=0.3 elastic=shaft modulus_mpa=1800"),
    (
        "curved-lip",
        "cylinder_mm=21.6 trough_mm=21.9 thickness_mm=2.4 length_mm=30 wrap_deg=35 root_deg=90 \
         modulus_mpa=3100 friction=1.9 allowed_percent=0.6",
    ),
    (
        "leaf-contact",
        "length_mm=8 width_mm=6 thickness_mm=0.3 space_mm=80 free_height_mm=4 cell_min_mm=64.5 \
         cell_max_mm=65.5",
    ),
    ("wire", "gauge=33 run_m=2 current_a=9 copper_degc=-10"),
    ("wire-bundle", "wires=40 wire_mm=0.8"),
    ("refraction", "index_from=1.5443 index_to=1 incidence_deg=60"),
    ("sellmeier", "material=fluorite wavelength_nm=465"),
    ("sellmeier", "material=quartz-e"),
    ("glow", "half_angle_deg=80 index=1.2 gap_index=2"),
    ("growth", "size_mm=40 expansion_per_k=68 rise_k=-15"),
];

/// One check.
pub struct Row {
    pub what: String,
    pub source: &'static str,
    have: f64,
    want: f64,
    tolerance: f64,
    /// `want` is a wrong value in circulation, which must not come out.
    trap: bool,
}

/// A table of published values.
#[derive(Default)]
pub struct Table {
    pub rows: Vec<Row>,
}

impl Table {
    /// Adds `have`, to be within `tolerance` of the published `want`.
    pub fn check(
        &mut self,
        what: impl Into<String>,
        source: &'static str,
        have: f64,
        want: f64,
        tolerance: f64,
    ) {
        self.rows.push(Row { what: what.into(), source, have, want, tolerance, trap: false });
    }

    /// Adds `have`, which must not be the printed `wrong`.
    pub fn trap(&mut self, what: impl Into<String>, source: &'static str, have: f64, wrong: f64) {
        /// Share of the wrong value within which ours would count as it.
        const SAME: f64 = 1e-5;
        let tolerance = SAME * wrong.abs();
        self.rows.push(Row { what: what.into(), source, have, want: wrong, tolerance, trap: true });
    }
}

impl Row {
    /// Why the row fails, if it does.
    pub fn failure(&self) -> Option<String> {
        let Row { what, source, have, want, tolerance, trap } = self;
        let near = (have - want).abs() <= *tolerance;
        if *trap && (near || have.is_nan()) {
            return Some(format!("{what}: {have} is the wrong value of: {source}"));
        }
        (!trap && !near)
            .then(|| format!("{what}: {have} instead of {want} +- {tolerance} ({source})"))
    }

    /// A line of a table in Markdown.
    pub fn shown(&self) -> String {
        let want = if self.trap { format!("not {}", digits(self.want)) } else { digits(self.want) };
        let off = self.have - self.want;
        // Differences of float noise depend on the machine.
        let noise = 1e-9 * self.want.abs().max(1e-3);
        let off = if off.abs() <= noise { "0".to_owned() } else { format!("{off:.0e}") };
        format!("| {} | {} | {want} | {} | {off} |", self.what, self.source, digits(self.have))
    }
}

/// Up to eight significant digits.
fn digits(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let places = (7 - value.abs().log10().floor() as i32).clamp(0, 12) as usize;
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}
