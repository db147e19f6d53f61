//! Areas, volumes and meshes against closed forms, evaluated with 25 digits.

use std::f64::consts::PI;

use borewright::measure::Vec2;
use borewright::mesh::{ChordTolerance, Mesh, tessellate};
use borewright::section::Region;
use borewright::solid::{BoreEnd, BoreProfile, CrossBore, Mouth, RuledSection, Stack};

use crate::support::Table;

const COMPUTED: &str = "closed form, computed";

fn disc(radius: f64) -> Region {
    Region::disc(Vec2::zeros(), radius)
}

/// All of a disc above a height.
fn above(radius: f64, y: f64) -> Region {
    let far = 3.0 * radius;
    disc(radius).intersection(&Region::rectangle(Vec2::new(-far, y), Vec2::new(far, far)))
}

/// Length of the straight pieces of a boundary.
fn chord(region: &Region) -> f64 {
    region.segs().iter().filter(|s| s.arc.is_none()).map(|s| (s.b - s.a).norm()).sum()
}

pub fn segments_and_lenses(t: &mut Table) {
    for (r, h, area, across) in [
        (10.0, 5.0, 61.418_484_930_437_8, Some(17.320_508_075_688_8)),
        (15.0, 3.0, 36.787_749_478_489, Some(18.0)),
        (12.5, 12.5, 245.436_926_061_703, Some(25.0)),
        (18.0, 4.0, 61.822_398_340_484_4, None),
        (9.3, 2.0, 15.729_299_919_532_5, None),
        (20.0, 30.0, 1_010.963_121_717_14, None),
    ] {
        let segment = above(r, r - h);
        t.check(format!("segment R{r} h{h}"), COMPUTED, segment.area(), area, 1e-11 * area);
        if let Some(across) = across {
            t.check(format!("its chord, R{r}"), COMPUTED, chord(&segment), across, 1e-12 * across);
        }
    }
    for (r, s, d, area) in [
        (10.0, 10.0, 10.0, 122.836_969_860_876),
        (1.0, 1.0, 1.0, 1.228_369_698_608_76),
        (15.0, 9.25, 10.0, 207.897_789_083_772),
        (14.0, 9.2, 6.0, 254.384_799_829_672),
        (5.0, 3.0, 4.0, 18.224_694_660_986_2),
        (13.0, 8.0, 5.0, 201.061_929_829_747),
        (3.0, 2.0, 1.0, 12.566_370_614_359_2),
    ] {
        let lens = disc(r).intersection(&Region::disc(Vec2::new(d, 0.0), s));
        t.check(format!("lens R{r} r{s} d{d}"), COMPUTED, lens.area(), area, 1e-11 * area);
    }
    let slot = Region::slot(Vec2::new(-4.0, 0.0), Vec2::new(4.0, 0.0), 2.0);
    t.check("stadium 12 x 4", COMPUTED, slot.area(), 44.566_370_614_359_2, 1e-12);
    let corner = Region::rectangle(Vec2::zeros(), Vec2::new(2.0, 2.0))
        .difference(&Region::disc(Vec2::new(2.0, 2.0), 2.0));
    t.check("fillet r2", COMPUTED, corner.area(), 0.858_407_346_410_207, 1e-12);
    t.check("28 mm speaker area", COMPUTED, disc(14.0).area(), 615.752, 5e-4);
}

pub fn fits_in_a_bore(t: &mut Table) {
    for (bore, side, at_five) in [
        (20.0, 14.142_135_623_731, 17.320_508_075_688_8),
        (25.4, 17.960_512_242_138_3, 23.348_661_631_879_5),
        (30.0, 21.213_203_435_596_4, 28.284_271_247_461_9),
        (38.0, 26.870_057_685_088_8, 36.660_605_559_646_7),
    ] {
        let width = chord(&above(bore / 2.0, 5.0));
        t.check(format!("bore {bore}: width 5 off the axis"), COMPUTED, width, at_five, 1e-11);
        // Sides are rounded to the input grid of a thousandth.
        let square =
            |s: f64| Region::rectangle(Vec2::new(-s / 2.0, -s / 2.0), Vec2::new(s / 2.0, s / 2.0));
        let inside = |s: f64| square(s).difference(&disc(bore / 2.0)).is_empty();
        let largest = (0..)
            .map(|i| f64::from(i) * 0.002)
            .take_while(|s| *s <= bore)
            .filter(|s| inside(*s))
            .fold(0.0, f64::max);
        t.check(format!("bore {bore}: largest square"), COMPUTED, largest, side, 0.002);
    }
    for (bore, board, width) in [(25.4, 1.6, 25.349_556_21), (22.0, 5.0, 21.424_285_29)] {
        let half = board / 2.0;
        let across = chord(&above(bore / 2.0, half));
        t.check(format!("bore {bore}: board of {board}, centred"), COMPUTED, across, width, 5e-9);
    }
}

fn prism(section: &Region, height: f64) -> Stack {
    let mut stack = Stack::default();
    stack.prism(0.0, height, section);
    stack
}

fn bore(z: f64, offset: f64, radius: f64, end: BoreEnd) -> CrossBore {
    CrossBore {
        direction: Vec2::y(),
        z,
        offset,
        start: f64::NEG_INFINITY,
        profile: BoreProfile::Round { radius },
        mouth: Mouth::Plain,
        end,
    }
}

/// What a cross hole of radius `a`, `e` off the axis, takes out of a rod.
pub fn hole(a: f64, r: f64, e: f64) -> f64 {
    let rod = prism(&disc(r), 40.0);
    let left = rod.bored(&[bore(20.0, e, a, BoreEnd::AllWalls)]).expect("inside the rod");
    rod.volume() - left.properties().volume
}

pub fn bores(t: &mut Table) {
    let bowman = "Bowman 1961 p. 34: E and K integrals";
    for (a, b, volume) in [
        (1.0, 2.0, 12.160_319_905_383_187),
        (1.7, 15.0, 271.938_063_165_216_5),
        (2.2, 12.5, 378.655_082_204_214_5),
        (3.0, 10.0, 559.051_287_012_199_5),
        (6.0, 14.0, 3_092.246_362_827_513),
        (9.25, 14.0, 7_089.532_259_521_97),
    ] {
        let what = format!("hole r{a} across a rod R{b}");
        t.check(what, bowman, hole(a, b, 0.0), volume, 1e-8 * volume);
    }
    let source = "half the difference of two holes";
    for (a, outer, inner, volume) in [
        (1.7, 15.0, 12.5, 22.741_996_110_023_463),
        (3.0, 16.0, 14.0, 56.837_071_422_443_75),
        (6.0, 18.0, 16.0, 229.907_264_999_801_37),
        (1.25, 12.0, 11.0, 4.916_034_211_629_754),
    ] {
        let tube = prism(&disc(outer).difference(&disc(inner)), 40.0);
        let one = bore(20.0, 0.0, a, BoreEnd::NextWall);
        let left = tube.bored(&[one]).expect("inside the wall").properties().volume;
        let what = format!("hole r{a} in one wall of {outer}/{inner}");
        t.check(what, source, tube.volume() - left, volume, 1e-7 * volume);
    }
    for (r, length, a, volume) in
        [(15.0, 40.0, 1.7, 28_002.395_819_142_923), (10.0, 30.0, 3.0, 8_865.726_673_757_18)]
    {
        let through = bore(length / 2.0, 0.0, a, BoreEnd::AllWalls);
        let left = prism(&disc(r), length).bored(&[through]).expect("inside the rod");
        let what = format!("rod R{r} L{length} less a hole r{a}");
        t.check(what, bowman, left.properties().volume, volume, 1e-10 * volume);
    }
    for (a, r, e, volume) in [
        (3.0, 15.0, 5.0, 794.610_666_772_986_4),
        (2.0, 12.0, 6.0, 259.554_210_728_623_47),
        (2.0, 15.0, 0.0, 376.151_488_281_388_67),
    ] {
        let what = format!("hole r{a} in R{r}, {e} off the axis");
        t.check(what, "computed by quadrature", hole(a, r, e), volume, 1e-8 * volume);
    }
}

pub fn tapers(t: &mut Table) {
    let ruled = |h: f64, section: RuledSection| {
        let mut stack = Stack::default();
        stack.ruled(0.0, h, section);
        stack.solid().expect("one slab closes").properties()
    };
    for (big, small, h, volume, lateral) in [
        (10.0, 6.0, 15.0, 3_078.760_800_518, Some(780.330_130_861_041)),
        (12.5, 11.5, 2.0, 905.302_283_009_459, None),
    ] {
        let section = RuledSection::between(&disc(big), &disc(small)).expect("concentric");
        let have = ruled(h, section);
        let what = format!("frustum R{big} r{small} h{h}");
        t.check(what, COMPUTED, have.volume, volume, 1e-11 * volume);
        if let Some(lateral) = lateral {
            let side = have.area - PI * (big * big + small * small);
            t.check("its lateral area", COMPUTED, side, lateral, 1e-11 * lateral);
        }
    }
    let rect = |w: f64, d: f64| {
        Region::rectangle(Vec2::new(-w / 2.0, -d / 2.0), Vec2::new(w / 2.0, d / 2.0))
    };
    for (a, b, h, volume) in
        [((20.0, 12.0), (14.0, 8.0), 9.0, 1548.0), ((10.0, 6.0), (4.0, 9.0), 12.0, 612.0)]
    {
        let section = RuledSection::between(&rect(a.0, a.1), &rect(b.0, b.1)).expect("parallel");
        let have = ruled(h, section).volume;
        let what = format!("prismatoid {}x{} to {}x{} h{h}", a.0, a.1, b.0, b.1);
        t.check(what, "h/6 (A1 + 4 Am + A2)", have, volume, 1e-11 * volume);
    }
}

/// A mesh of a rod of height 1 whose circles have chords of height `chord`.
fn rod_mesh(radius: f64, chord: f64) -> Mesh {
    let solid = prism(&disc(radius), 1.0).solid().expect("a rod");
    let tolerance = ChordTolerance { chord, max_angle: PI / 2.0 };
    tessellate(&solid, &tolerance).expect("a rod meshes")
}

pub fn facets(t: &mut Table) {
    // Ours are the next multiples of four: circles meet their quarters.
    for (r, e, least) in [(15.0, 0.01, 87.0), (15.0, 0.05, 39.0), (1.7, 0.01, 29.0)] {
        let around = rod_mesh(r, e).vertices().len() as f64 / 2.0;
        let source = "n = pi / acos(1 - e / r), rounded up to quarters";
        t.check(
            format!("chords of R{r} at {e}"),
            source,
            around,
            4.0 * f64::ceil(least / 4.0),
            0.0,
        );
    }
    for (n, share) in [(32.0, 0.993_586_851_1), (64.0, 0.998_394_393_0), (128.0, 0.999_598_453_1)] {
        // A hair more than the height of n chords.
        let r = 10.0;
        let mesh = rod_mesh(r, r * (1.0 - f64::cos(PI / n)) * (1.0 + 1e-9));
        let volume: f64 = mesh
            .triangles()
            .iter()
            .map(|c| c.map(|v| mesh.vertices()[v as usize]))
            .map(|[a, b, c]| a.dot(&b.cross(&c)) / 6.0)
            .sum();
        let source = "n / 2 pi sin(2 pi / n)";
        t.check(
            format!("{n} facets: share of the area"),
            source,
            volume / (PI * r * r),
            share,
            5e-10,
        );
    }
}
