//! From a validated job to the bytes of STL and STEP, for the example cradle.

use std::hint::black_box;
use std::path::Path;

use borewright::job::{Job, files, make};
use borewright::measure::{Library, Source};
use borewright::parts::PART_KINDS;
use criterion::{Criterion, criterion_group, criterion_main};

fn cradle(c: &mut Criterion) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/lamplighters-rod.toml");
    let text = std::fs::read(path).expect("the example is there");
    let source = Source::new("lamplighters-rod.toml", text).expect("it is text");
    let job = Job::read(&source, Library::shipped(), PART_KINDS).expect("it is valid");
    c.bench_function("sections to STL and STEP, lamplighter's cradle", |b| {
        b.iter(|| {
            let made = make(black_box(&job)).expect("it can be made");
            black_box(files(&job, &made, "2000-01-01T00:00:00").expect("it can be written"))
        });
    });
}

criterion_group!(benches, cradle);
criterion_main!(benches);
