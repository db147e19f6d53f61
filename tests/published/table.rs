//! The one table of all checks against published values. It is printed by the
//! test and kept in `README.md` beside it; `BOREWRIGHT_WRITE=1 cargo test --test
//! published table` writes it anew.

use std::fmt::Write;
use std::path::Path;

use crate::support::{Row, Table};
use crate::{components, fasteners, files, geometry, traps, values};

type Topic = fn(&mut Table);

/// All topics, in the order of the table.
const TOPICS: &[(&str, &[Topic])] = &[
    ("Wrong values in circulation", &[traps::rows]),
    ("Tolerance chains", &[values::stack_ups]),
    ("Fits: ISO 286", &[values::iso_286, values::iso_286_formula]),
    ("General tolerances: ISO 2768-1", &[values::iso_2768]),
    (
        "Screws, nuts, inserts",
        &[fasteners::threads_screws_and_inserts, fasteners::rest_of_the_tables],
    ),
    ("Snap fits", &[values::snaps]),
    ("Wires", &[values::wires, values::wire_table]),
    ("Sound and light", &[values::sound_and_light]),
    ("Heat", &[values::growth_with_heat]),
    (
        "Components",
        &[
            components::cells,
            components::switches_and_pixels,
            components::screws_and_inserts,
            components::wires,
        ],
    ),
    ("Printers and materials", &[components::printers, components::materials]),
    ("Plane geometry", &[geometry::segments_and_lenses, geometry::fits_in_a_bore]),
    ("Solid geometry", &[geometry::bores, geometry::tapers]),
    ("Meshes", &[geometry::facets]),
    ("Files", &[files::stl, files::step, files::units]),
];

const HEAD: &str = "# Published values

Every value of a standard, a data sheet, a guide or a handbook that borewright
computes or ships, beside what it gives. The test run prints this table, fails
when a value is off by more than its tolerance, and fails when this file is out
of date; `BOREWRIGHT_WRITE=1 cargo test --test published table` writes it.

*computed* means: from the formula named, with 25 digits, by another program.
A row *not X* is a wrong value in circulation that must not come out.
Standards were read in copies, not in the originals.

Not here, because the program neither computes nor ships it: names of cells
after IEC 61960, speakers by size, UN 38.3 and the other cell standards, torsion
snaps, arms that taper in width, solids that need a boolean of two bodies (equal
crossing cylinders, spheres, tori, hooves).
";

fn rows() -> Vec<(&'static str, Vec<Row>)> {
    let each = |(title, topics): &(&'static str, &[Topic])| {
        let mut table = Table::default();
        topics.iter().for_each(|topic| topic(&mut table));
        (*title, table.rows)
    };
    TOPICS.iter().map(each).collect()
}

#[test]
fn table_of_published_values() {
    let topics = rows();
    let mut text = HEAD.to_owned();
    let (mut failures, mut count) = (Vec::new(), 0);
    for (title, rows) in &topics {
        let _ = write!(text, "\n## {title}\n\n| value | source | published | ours | off by |\n");
        text.push_str("|---|---|---|---|---|\n");
        for row in rows {
            assert!(!row.what.contains('|') && !row.source.contains('|'), "{}", row.what);
            let _ = writeln!(text, "{}", row.shown());
            failures.extend(row.failure());
        }
        count += rows.len();
    }
    println!("{text}\n{count} values");
    assert!(failures.is_empty(), "{} of {count}:\n{}", failures.len(), failures.join("\n"));
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published/README.md");
    if std::env::var_os("BOREWRIGHT_WRITE").is_some() {
        std::fs::write(&path, &text).expect("the table can be written");
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    let line = kept.lines().zip(text.lines()).find(|(old, new)| old != new);
    assert!(
        kept == text,
        "{} is out of date at {line:?}; write it with BOREWRIGHT_WRITE=1",
        path.display()
    );
}

/// A row that is off fails, and so does a trap that is stepped into.
#[test]
fn the_table_can_fail() {
    let mut t = Table::default();
    t.check("near", "test", 1.0, 1.0 + 1e-9, 1e-8);
    t.check("off", "test", 1.0, 1.1, 0.05);
    t.check("no number", "test", f64::NAN, 1.0, 1.0);
    t.trap("clear", "test", 1.0, 2.0);
    t.trap("stepped into", "test", 2.0, 2.0);
    let failed: Vec<bool> = t.rows.iter().map(|r| r.failure().is_some()).collect();
    assert_eq!(failed, [false, true, true, false, true]);
}
