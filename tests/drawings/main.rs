//! Random jobs of the kinds of parts: what their calipers find, and that each can be drawn.

use std::collections::BTreeMap;

use fastrand::Rng;

use borewright::export::drawing::{Extent, Text, line_mesh};
use borewright::job::{DrawingWishes, Job, Made, Size, drawings, make, sizes};
use borewright::measure::{Library, Source, Vec3};
use borewright::parts::PART_KINDS;
// The writers of random jobs name what they need as the program does.
use borewright::{measure, parts};

#[path = "../../src/parts/random_rows.rs"]
mod random_rows;

#[path = "../../src/parts/wire_cover/random.rs"]
mod cover;
#[path = "../../src/parts/crystal_cradle/random.rs"]
mod cradle;
#[path = "../../src/parts/speaker_cup/random.rs"]
mod cup;
#[path = "../../src/parts/kill_pocket/random.rs"]
mod kill;
#[path = "../../src/parts/front_mount/random.rs"]
mod mount;
#[path = "../../src/parts/display_plug/random.rs"]
mod plug;
#[path = "../../src/parts/adapter_ring/random.rs"]
mod ring;
#[path = "../../src/parts/locking_seat/random.rs"]
mod seat;
#[path = "../../src/parts/board_sled/random.rs"]
mod sled;
#[path = "../../src/parts/cell_tray/random.rs"]
mod tray;

type Write = fn(&mut Rng, &Library) -> String;

const KINDS: &[(&str, Write)] = &[
    ("wire_cover", |rng, _| cover::random(rng)),
    ("crystal_cradle", |rng, _| cradle::random(rng, true)),
    ("speaker_cup", |rng, library| cup::random_job(rng, library, 0.1)),
    ("kill_pocket", |rng, _| kill::random(rng)),
    ("front_mount", |rng, library| mount::random_job(rng, library, 0.1)),
    ("display_plug", |rng, library| plug::random_job(rng, library, 0.1)),
    ("adapter_ring", |rng, _| ring::random(rng)),
    ("locking_seat", |rng, _| seat::random(rng)),
    ("board_sled", |rng, library| sled::random_job(rng, library)),
    ("cell_tray", |rng, library| tray::random_job(rng, library, 0.1)),
];

/// How far the report may be from what a caliper finds, mm: the grid, at both ends.
const AGREES: f64 = 2e-3;
/// Made jobs of each kind.
const EACH: usize = 4;
/// Jobs written at most until as many are made.
const TRIES: usize = 400;

fn tried(text: &str) -> Option<(Job, Vec<Made>)> {
    let source = Source::new("job.toml", text).ok()?;
    let job = Job::read(&source, Library::shipped(), PART_KINDS).ok()?;
    let made = make(&job).ok()?;
    Some((job, made))
}

#[test]
fn calipers_and_sheets_of_random_jobs() {
    let library = Library::shipped();
    let mut rows: BTreeMap<(&str, String), (u32, u32)> = BTreeMap::new();
    for (kind, write) in KINDS {
        let mut rng = Rng::with_seed(5);
        let texts = (0..TRIES).map(|_| write(&mut rng, &library));
        let made: Vec<(Job, Vec<Made>)> = texts.filter_map(|t| tried(&t)).take(EACH).collect();
        assert_eq!(made.len(), EACH, "{kind}");
        for (job, made) in &made {
            for body in made.iter().flat_map(|part| &part.bodies) {
                let mesh = line_mesh(&body.body.solid).expect("it meshes");
                let all = sizes(body, &mesh, Vec3::y());
                for row in body.body.computed.iter().filter(|row| row.caliper.is_some()) {
                    let (wanted, found) = rows.entry((kind, row.key.clone())).or_default();
                    *wanted += 1;
                    let same = |s: &Size| (s.value - row.value).abs() <= AGREES;
                    *found += u32::from(all.iter().any(same));
                }
            }
            let wishes = DrawingWishes::default();
            let sheets = drawings(job, made, "1970-01-01T00:00:00", &wishes, &[]);
            for drawing in sheets.expect("each body has a scale that fits") {
                let texts: Vec<Extent> = drawing.sheet.texts().map(Text::extent).collect();
                for (i, text) in texts.iter().enumerate() {
                    let alone = texts[..i].iter().all(|other| !other.meets(text));
                    assert!(alone, "{}: {text:?}\n{}", drawing.body, job.source().text());
                }
            }
        }
    }
    let lost: Vec<String> = rows
        .iter()
        .filter(|(_, (wanted, found))| 2 * found < *wanted)
        .map(|((kind, key), (wanted, found))| format!("{kind} {key}: {found} of {wanted}"))
        .collect();
    let (wanted, found) = rows.values().fold((0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
    println!("{found} of {wanted} sizes found");
    // Marks, holes and grooves of random jobs cross some lines.
    assert!(lost.is_empty() && 20 * found >= 19 * wanted, "{found} of {wanted}: {lost:#?}");
}
