//! Parts held against a chassis that somebody else made, and made for its
//! cavities.

use std::fs;
use std::path::{Path, PathBuf};

use borewright::cli::Exit;
use borewright::export::stl;
use borewright::measure::{Vec2, Vec3};
use borewright::mesh::{ChordTolerance, Mesh, tessellate};
use borewright::parts::PART_KINDS;
use borewright::section::Region;
use borewright::solid::Stack;
use serde_json::Value;

use super::support::{Folder, Ran, ran_with};

/// A tube of 30 mm with a floor at its foot, 25 mm inside, whose side towards +y
/// is open from z = 30 to 120.
fn tube() -> Mesh {
    let disc = |r: f64| Region::disc(Vec2::zeros(), r);
    let ring = disc(15.0).difference(&disc(12.5));
    let window = Region::rectangle(Vec2::new(-12.0, 0.0), Vec2::new(12.0, 40.0));
    let mut stack = Stack::default();
    stack.prism(0.0, 4.0, &disc(15.0));
    stack.prism(4.0, 30.0, &ring);
    stack.prism(30.0, 120.0, &ring.difference(&window));
    stack.prism(120.0, 140.0, &ring);
    tessellate(&stack.solid().expect("sound"), &ChordTolerance::default()).expect("meshes")
}

fn write(folder: &Folder, mesh: &Mesh, moved: impl Fn(Vec3) -> Vec3) {
    let vertices: Vec<Vec3> = mesh.vertices().iter().map(|&p| moved(p)).collect();
    let bytes = stl(&vertices, mesh.triangles(), "a tube").expect("fits in STL");
    folder.write("tube.stl", bytes);
}

fn job(folder: &Folder, chassis: &str, part: &str) -> PathBuf {
    let text = format!(
        "format = 1\n[handle]\nname = \"Tide-caller's sceptre\"\nbore = [30.4, 30.42]\nlength = 150\n\
         [print]\nprinter = \"fdm-thin\"\nmaterial = \"petg\"\n{chassis}\n[[part]]\n{part}\n"
    );
    folder.write("job.toml", text)
}

fn make(folder: &Folder, job: &Path) -> (Ran, Value) {
    let out = folder.path("out");
    let _ = fs::remove_dir_all(&out);
    let run = ran_with(PART_KINDS, &[&"make", &job, &"--out", &out]);
    let report = fs::read_to_string(out.join("report.json")).unwrap_or_else(|_| "null".to_owned());
    (run, serde_json::from_str(&report).expect("JSON"))
}

/// Findings of the two checks in a report.
fn found<'a>(report: &'a Value, check: &str) -> Vec<&'a Value> {
    let parts = report["parts"].as_array().expect("a list").iter();
    let bodies = parts.flat_map(|part| part["bodies"].as_array().expect("a list"));
    let all = bodies.flat_map(|body| body["findings"].as_array().expect("a list"));
    all.filter(|finding| finding["check"] == check).collect()
}

const CRADLE: &str = "kind = \"crystal_cradle\"\nname = \"cradle\"\nfrom_z = 50\npixel = \"round-10\"\n\
    station = [{ at = 0, section = \"hexagon\", width = 9, height = 9 }, \
    { at = 20, section = \"hexagon\", width = 9, height = 9 }]";

#[test]
fn what_overlaps_and_what_is_in_the_way_is_told_with_numbers() {
    let folder = Folder::new("chassis");
    write(&folder, &tube(), |p| p);
    let path = job(&folder, "[chassis]\nmesh = \"tube.stl\"", CRADLE);
    let (run, report) = make(&folder, &path);
    assert_eq!(run.exit, Exit::CannotBeMade, "{} {}", run.out, run.err);
    let [seated] = &found(&report, "chassis")[..] else { panic!("{}", run.out) };
    assert!(seated["measured"].as_f64().expect("a depth") > 2.0, "{seated}");
    let text = seated["text"].as_str().expect("a text");
    for wanted in ["of the chassis tube.stl lie in the part", "clocking", "z = 50 to"] {
        assert!(text.contains(wanted), "{text}");
    }
    assert_eq!(found(&report, "chassis_way").len(), 1);
    // The same file in other units, lying, and where it is not in the way.
    write(&folder, &tube(), |p| Vec3::new(p.z, p.x, p.y) / 25.4);
    let lying = "[chassis]\nmesh = \"tube.stl\"\nunit = \"inch\"\naxis = \"x\"";
    let (_, turned) = make(&folder, &job(&folder, lying, CRADLE));
    let [again] = &found(&turned, "chassis")[..] else { panic!("one finding") };
    assert_eq!(again["text"], seated["text"]);
    let (run, beyond) = make(&folder, &job(&folder, &format!("{lying}\nshift_z = 140"), CRADLE));
    assert_eq!(run.exit, Exit::Made, "{} {}", run.out, run.err);
    assert!(found(&beyond, "chassis").is_empty() && found(&beyond, "chassis_way").is_empty());
    assert_eq!(beyond["chassis"]["inputs"]["shift_z"]["value"], 140.0);
}

#[test]
fn a_part_made_for_a_cavity_has_room_and_gets_in() {
    let folder = Folder::new("chassis-cavity");
    write(&folder, &tube(), |p| p);
    let kinds = [
        CRADLE.to_owned(),
        "kind = \"cell_tray\"\nname = \"tray\"\npositive = \"front\"\nfrom_z = 34\ncell = { profile = \
         \"18650-button\", diameter_min = 18.2, diameter_max = 18.35, length_min = 66.3, length_max = \
         66.8 }"
            .to_owned(),
        "kind = \"switch_plate\"\nname = \"plate\"\nplunger = [{ z = 80, tip = 9.5, travel = 2.2, switch = \"6x6-h5.0\" }]"
            .to_owned(),
    ];
    for part in kinds {
        let chassis = "[chassis]\nmesh = \"tube.stl\"";
        let path =
            job(&folder, chassis, &format!("{part}\ncavity = {{ from_z = 30, to_z = 120 }}"));
        let (run, report) = make(&folder, &path);
        assert!(!report.is_null(), "{part}\n{} {}", run.out, run.err);
        for check in ["chassis", "fit", "interference", "insertion"] {
            let errors = found(&report, check);
            let errors: Vec<_> = errors.iter().filter(|f| f["severity"] == "error").collect();
            assert!(errors.is_empty(), "{part}\n{errors:#?}");
        }
        // Along z the floor is in the way: it goes in from the side.
        let ways = found(&report, "chassis_way");
        assert!(ways.iter().all(|way| way["severity"] == "note"), "{part}\n{ways:#?}");
        let clear = &report["parts"][0]["cavity"]["clear_diameter"]["value"];
        let clear = clear.as_f64().expect("a number");
        assert!((23.9..24.0 + 1e-9).contains(&clear), "the window's sides: {clear}");
    }
}

#[test]
fn a_part_begins_with_its_cavity_where_it_does_not_say() {
    let folder = Folder::new("chassis-begin");
    write(&folder, &tube(), |p| p);
    let chassis = "[chassis]\nmesh = \"tube.stl\"";
    let cradle = CRADLE.replace("from_z", "# from_z");
    let text = format!("{cradle}\ncavity = {{ from_z = 42, to_z = 110 }}");
    let (run, report) = make(&folder, &job(&folder, chassis, &text));
    assert_ne!(run.exit, Exit::BadInput, "{}", run.err);
    // What cannot be read of it is told once, where it stands.
    let wrong = format!("{cradle}\ncavity = {{ from_z = -42, to_z = 110 }}");
    let told = make(&folder, &job(&folder, chassis, &wrong)).0.err;
    assert_eq!(told.matches("error:").count(), 1, "{told}");
    assert!(told.contains("part[1].cavity.from_z: -42"), "{told}");
    let low = &report["parts"][0]["bodies"][0]["bounds"]["low"][2];
    assert_eq!(low.as_f64(), Some(42.0), "{}", report["parts"][0]["bodies"][0]["bounds"]);
}

/// A chassis that lies beside the axis does not go into the bore; one about it does.
#[test]
fn a_chassis_that_reaches_past_the_bore_is_told() {
    let folder = Folder::new("chassis-past");
    write(&folder, &tube(), |p| p);
    for (shift, wanted) in
        [("", None), ("shift_x = 0.5", Some("reaches 15.50 mm from the bore's axis"))]
    {
        let chassis = format!("[chassis]\nmesh = \"tube.stl\"\n{shift}");
        let (_, report) = make(&folder, &job(&folder, &chassis, CRADLE));
        let messages = report["parts"][0]["bodies"][0]["messages"].to_string();
        match wanted {
            Some(text) => {
                assert!(messages.contains(text), "{messages}");
                assert!(messages.contains("(0.50, 0.00) mm off the bore's axis"), "{messages}");
            }
            None => assert!(!messages.contains("bore's axis at z"), "{messages}"),
        }
    }
}

#[test]
fn what_a_cavity_cannot_take_is_told_with_place_and_measure() {
    let folder = Folder::new("chassis-short");
    write(&folder, &tube(), |p| p);
    let chassis = "[chassis]\nmesh = \"tube.stl\"";
    let refused = |chassis: &str, part: &str| {
        let run = make(&folder, &job(&folder, chassis, part)).0;
        assert_ne!(run.exit, Exit::Made, "{} {}", run.out, run.err);
        run.err
    };
    let tray = "kind = \"cell_tray\"\nname = \"tray\"\ncell = \"c\"\nfrom_z = 40";
    let wide = refused(chassis, &format!("{tray}\ncavity = {{ from_z = 30, to_z = 120 }}"));
    for wanted in ["short by", "clear about", "narrowest at z = "] {
        assert!(wide.contains(wanted), "{wide}");
    }
    let long = refused(chassis, &format!("{CRADLE}\ncavity = {{ from_z = 50, to_z = 60 }}"));
    assert!(long.contains("too far at the high end"), "{long}");
    let solid = refused(chassis, &format!("{CRADLE}\ncavity = {{ from_z = 1, to_z = 3 }}"));
    assert!(solid.contains("is 0.00 mm clear"), "{solid}");
    // From either side: which end to move, and where to, so that it drops in from +y.
    let (below, above) = ("from_z = 2, to_z = 60", "from_z = 50, to_z = 160");
    let below = refused(chassis, &format!("{CRADLE}\ncavity = {{ {below} }}"));
    assert!(below.contains("from_z = 30.01 would have a clear bore"), "{below}");
    write(&folder, &tube(), |p| Vec3::new(-p.x, p.y, 140.0 - p.z));
    let above = refused(chassis, &format!("{CRADLE}\ncavity = {{ {above} }}"));
    assert!(above.contains("to_z = 135.99 would have a clear bore"), "{above}");
    let none = refused("", &format!("{CRADLE}\ncavity = {{ from_z = 30, to_z = 120 }}"));
    assert!(none.contains("no chassis for a cavity"), "{none}");
    let other = refused(
        chassis,
        &format!("{CRADLE}\ncavity = {{ from = \"b.stl\", from_z = 3, to_z = 9 }}"),
    );
    assert!(other.contains("b.stl is not the job's chassis"), "{other}");
}

#[test]
fn a_mesh_that_is_no_chassis_is_refused_with_the_reason() {
    let folder = Folder::new("chassis-refused");
    let mesh = tube();
    let refused = |chassis: &str, wanted: &str| {
        let run = make(&folder, &job(&folder, chassis, CRADLE)).0;
        assert_eq!(run.exit, Exit::BadInput, "{} {}", run.out, run.err);
        assert!(run.err.contains(wanted), "{}", run.err);
    };
    let named = "[chassis]\nmesh = \"tube.stl\"";
    refused(named, "cannot read");
    folder.write("tube.stl", "no mesh at all");
    refused(named, "no STL, OBJ or 3MF file");
    let open = stl(mesh.vertices(), &mesh.triangles()[7..], "open").expect("fits");
    folder.write("tube.stl", open);
    refused(named, "edges have no neighbour");
    write(&folder, &mesh, |p| p);
    refused(&format!("{named}\nunit = \"m\""), "no chassis of a handle");
    refused(&format!("{named}\nunit = \"um\""), "no chassis of a handle");
    refused("[chassis]\nturn = 5", "the mesh of the chassis");
    refused("[[chassis]]\nmesh = \"tube.stl\"", "a table [chassis]");
    // Inside out it is turned over.
    write(&folder, &mesh, |p| Vec3::new(-p.x, p.y, p.z));
    let (run, report) = make(&folder, &job(&folder, named, CRADLE));
    assert_eq!(found(&report, "chassis").len(), 1, "{}", run.out);
}
