use std::collections::BTreeSet;

use super::*;
use crate::job::{make, template};
use crate::measure::{Library, Source};
use crate::parts::PART_KINDS;

fn printer() -> Values {
    Library::shipped().profile("printers", "fdm-medium").expect("shipped").clone()
}

fn keys(sheet: &Sheet) -> BTreeSet<&str> {
    sheet.groups.iter().flat_map(|g| &g.slots).map(|slot| slot.key.as_str()).collect()
}

/// What `new` asks for and what the sheet asks for is one.
#[test]
fn a_sheet_has_all_that_a_new_job_asks_for() {
    let printer = printer();
    for kind in PART_KINDS {
        let sheet = for_kinds(&[kind], &printer);
        let text = template(&[kind.name], PART_KINDS).expect("a known kind");
        let lacking = for_blanks(&text, PART_KINDS).expect("a new job lacks much");
        let (asked, lacking) = (keys(&sheet), keys(&lacking));
        let missing: Vec<_> = lacking.difference(&asked).collect();
        assert!(missing.is_empty(), "{}: {missing:?}", kind.name);
        let all = sheet.groups.iter().flat_map(|g| &g.slots).count();
        assert_eq!(all, asked.len(), "{}: each key has one box", kind.name);
        let must = sheet.groups.iter().filter(|g| !g.doc.starts_with("If there is one"));
        for slot in must.flat_map(|g| &g.slots).filter(|s| s.need == Need::Must) {
            // Of lists a new job shows as many tables as it must have.
            let first = !slot.key.contains("[2]");
            assert!(!first || lacking.contains(slot.key.as_str()), "{}", slot.key);
        }
        let page = html(&sheet);
        for slot in sheet.groups.iter().flat_map(|g| &g.slots) {
            assert!(page.contains(&format!("data-key=\"{}\"", slot.key)), "{}", slot.key);
        }
        assert_eq!(page.matches("data-key=").count(), all);
        assert!(!page.contains("http:") && !page.contains("https:"), "it needs nothing else");
    }
}

#[test]
fn cells_are_measured_with_care() {
    let kind = |name: &str| PART_KINDS.iter().find(|k| k.name == name).expect("a kind");
    let with = for_kinds(&[kind("cell_tray")], &printer());
    assert!(with.cautions.iter().any(|c| c.contains("short")), "{:?}", with.cautions);
    let without = for_kinds(&[kind("adapter_ring")], &printer());
    assert!(without.cautions.is_empty(), "{:?}", without.cautions);
}

#[test]
fn a_worse_caliper_brings_play() {
    let accuracy = Accuracy::of(&printer(), Some(0.04)).expect("in range");
    assert_eq!(accuracy.rows.len(), 7);
    let own: Vec<f64> = accuracy.rows.iter().filter(|r| r.own).map(|r| r.error).collect();
    assert_eq!(own, [0.04]);
    for pair in accuracy.rows.windows(2) {
        assert!(pair[1].rattles >= pair[0].rattles && pair[1].gap > pair[0].gap, "{pair:?}");
    }
    // Both errors at once: the gap less the printer's and the caliper's.
    let row = accuracy.rows[0];
    assert!((row.worst[0] - (row.gap - accuracy.printed - row.error)).abs() < 1e-9);
}

#[test]
fn a_complete_job_says_what_would_help() {
    let text = include_str!("../../../examples/two-plungers.toml");
    let source = Source::new("job.toml", text).expect("a text");
    let job = Job::read(&source, Library::shipped(), PART_KINDS).expect("a right job");
    let sheet = for_job(&job, &make(&job).expect("it can be made"));
    let fields: Vec<&str> = sheet.helps.iter().map(|h| h.field.as_str()).collect();
    assert!(fields.contains(&"handle.bore"), "{fields:?}");
    assert!(sheet.helps.windows(2).all(|pair| pair[0].gain >= pair[1].gain));
    assert!(sheet.helps.iter().all(|h| h.most.2 > h.most.3), "{:?}", sheet.helps);
    let all = keys(&sheet);
    assert!(all.contains("part[1].plunger[2].switch.overall_height"), "the profile's");
    assert!(!all.contains("part[1].plunger[1].switch.overall_height"), "it was measured");
    assert!(!all.iter().any(|key| key.starts_with("part[1].screw")), "it is glued");
    assert_eq!(for_blanks(text, PART_KINDS), None);
}
