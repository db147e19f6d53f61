//! `borewright card`: the cards of all examples read back, and what is refused.

use borewright::cli::Exit;
use borewright::parts::PART_KINDS;

use super::drawing::{apart, examples, texts};
use super::support::{Folder, ran_with};

#[test]
fn every_example_has_a_card_of_one_page() {
    let folder = Folder::new("card");
    for job in examples() {
        let name = job.file_stem().expect("a name").to_string_lossy().into_owned();
        for (paper, size) in [("a4", (297.0, 210.0)), ("letter", (279.4, 215.9))] {
            let out = folder.path(&format!("{name}-{paper}"));
            let run = ran_with(PART_KINDS, &[&"card", &job, &"--out", &out, &"--sheet", &paper]);
            assert_eq!(run.exit, Exit::Made, "{}", run.err);
            assert_eq!(folder.names(&format!("{name}-{paper}")), ["card.pdf", "card.svg"]);
            let svg = std::fs::read_to_string(out.join("card.svg")).expect("written");
            let all = texts(&svg);
            apart(&name, &all, size);
            let said: Vec<&str> = all.iter().map(|words| words.text.as_str()).collect();
            let said = said.join(" ");
            assert!(said.contains("What lies where"), "{said}");
            let cell = std::fs::read_to_string(&job).expect("a text").contains("cell_tray");
            assert_eq!(said.contains("negative end"), cell, "{name}: {said}");
            assert_eq!(said.contains("data sheet"), cell, "{name}: {said}");
        }
    }
    let job = examples().remove(0);
    let name = job.file_stem().expect("a name").to_string_lossy().into_owned();
    ran_with(PART_KINDS, &[&"card", &job, &"--out", &folder.path("again")]);
    for file in ["card.pdf", "card.svg"] {
        let read = |of: &str| std::fs::read(folder.path(of).join(file)).expect("written");
        assert_eq!(read("again"), read(&format!("{name}-a4")), "the same bytes: {file}");
    }
}

#[test]
fn a_card_that_does_not_go_with_its_parts_is_refused() {
    let folder = Folder::new("card-wrong");
    let job = examples().into_iter().find(|p| p.ends_with("lamplighters-rod.toml"));
    let text = std::fs::read_to_string(job.expect("there")).expect("a text");
    let wrong = format!("{text}\n[[card.control]]\ndoes = \"sings\"\n");
    let wrong = folder.write("wrong.toml", wrong);
    let out = folder.path("out");
    let run = ran_with(PART_KINDS, &[&"card", &wrong, &"--out", &out]);
    assert_eq!(run.exit, Exit::BadInput, "{}", run.err);
    assert!(run.err.contains("card.control: 1 controls"), "{}", run.err);
    assert!(!out.join("card.svg").exists());
    let wrong = folder.write("key.toml", format!("{text}\n[card]\nlihgt = \"red\"\n"));
    let run = ran_with(PART_KINDS, &[&"card", &wrong, &"--out", &out]);
    assert_eq!(run.exit, Exit::BadInput);
    assert!(run.err.contains("light"), "it says what is meant: {}", run.err);
}
