//! Who is let in, and how long and large a request may be.

use std::fs;
use std::io::{Read, Write};
use std::time::{Duration, Instant};

use serde_json::json;

use super::{Answer, Server, example};

#[test]
fn only_its_own_page_is_answered() {
    let server = Server::start("own", &[]);
    let port = server.port;
    let own = format!("127.0.0.1:{port}");
    for host in [own.clone(), format!("localhost:{port}")] {
        assert_eq!(server.ask("GET", "", &[("Host", &host)], b"").status, 200, "{host}");
    }
    let foreign =
        ["evil.example", "127.0.0.1", "127.0.0.1:1", "0.0.0.0", &format!("evil.example:{port}")];
    for host in foreign {
        let answer = server.ask("GET", "", &[("Host", host)], b"");
        assert_eq!((answer.status, answer.code().as_str()), (403, "foreign"), "{host}");
    }
    let http = format!("http://{own}");
    assert_eq!(server.ask("GET", "", &[("Origin", &http)], b"").status, 200);
    for origin in [
        "http://evil.example",
        "null",
        &format!("https://{own}"),
        &format!("http://localhost:{port}"),
    ] {
        let answer = server.ask("GET", "api/files", &[("Origin", origin)], b"");
        assert_eq!((answer.status, answer.code().as_str()), (403, "foreign"), "{origin}");
    }
    for (site, status) in
        [("same-origin", 200), ("none", 200), ("cross-site", 403), ("same-site", 403)]
    {
        let answer = server.ask("GET", "api/files", &[("Sec-Fetch-Site", site)], b"");
        assert_eq!(answer.status, status, "{site}");
    }
    let twice = format!("GET /{}/ HTTP/1.1\r\nHost: {own}\r\nHost: evil\r\n\r\n", server.token);
    assert_ne!(server.raw(twice.as_bytes()).status, 200);
}

#[test]
fn without_the_token_there_is_nothing() {
    let server = Server::start("token", &[]);
    let host = format!("Host: 127.0.0.1:{}\r\nConnection: close\r\n\r\n", server.port);
    let mut wrong = server.token.clone();
    wrong.replace_range(0..1, if wrong.starts_with('0') { "1" } else { "0" });
    let mut longer = server.token.clone();
    longer.push('0');
    for path in ["", "api/files", &wrong, &longer, &server.token[1..], "../", "%2e%2e/"] {
        for path in [format!("/{path}"), format!("/{path}/"), format!("/{path}/api/files")] {
            let answer = server.raw(format!("GET {path} HTTP/1.1\r\n{host}").as_bytes());
            assert_eq!((answer.status, answer.code().as_str()), (403, "foreign"), "{path}");
        }
    }
    let other = Server::start("token-other", &[]);
    assert_ne!(server.token, other.token);
    assert!(server.token.len() >= 32);
}

#[test]
fn every_answer_keeps_the_page_to_itself() {
    let server = Server::start("headers", &[]);
    for answer in
        [server.get(""), server.get("bench.js"), server.get("api/files"), server.get("none")]
    {
        for wanted in [
            "content-security-policy: default-src 'none'; script-src 'self'; style-src 'self';",
            "x-content-type-options: nosniff",
            "referrer-policy: no-referrer",
            "cross-origin-resource-policy: same-origin",
        ] {
            assert!(answer.head.contains(wanted), "{wanted}: {}", answer.head);
        }
        assert!(!answer.head.contains("access-control-allow"), "{}", answer.head);
    }
}

#[test]
fn no_path_leads_out_of_the_folder() {
    let server = Server::start("paths", &[]);
    fs::write(server.folder.join("wand.toml"), example("ember-wand.toml")).expect("written");
    fs::write(server.folder.with_extension("toml"), "secret = 1").expect("written");
    let outside =
        format!("../{}.toml", server.folder.file_name().expect("a name").to_string_lossy());
    for name in [
        outside.as_str(),
        "/etc/hostname",
        "../../Cargo.toml",
        "a/../wand.toml",
        "..",
        "wand.toml\0",
    ] {
        for path in ["api/open", "api/versions", "api/make", "api/survey"] {
            let answer = server.post(path, &json!({ "name": name }));
            assert_eq!(
                (answer.status, answer.code().as_str()),
                (400, "bad_request"),
                "{path} {name}"
            );
        }
        let answer = server.post("api/save", &json!({ "name": name, "text": "x" }));
        assert_eq!(answer.status, 400, "{name}");
        for path in ["api/plate", "api/batch"] {
            assert_eq!(server.post(path, &json!({ "names": [name] })).status, 400, "{path} {name}");
        }
    }
    let mesh = [("Content-Type", "application/octet-stream")];
    for name in ["..%2Fa.stl", "%2Ftmp%2Fa.stl", "a.toml", "", "a%", "%ff.stl"] {
        let answer = server.ask("POST", &format!("api/mesh?name={name}"), &mesh, b"solid");
        assert_eq!(answer.status, 400, "{name}");
    }
    assert_eq!(server.get("../../Cargo.toml").status, 404);
    assert_eq!(fs::read(server.folder.with_extension("toml")).expect("there"), b"secret = 1");
}

#[test]
fn a_job_that_names_files_elsewhere_gets_nothing_of_them() {
    let server = Server::start("beside", &[]);
    let text = example("lamplighters-rod.toml");
    let stone = text.find("kind = \"crystal_cradle\"").expect("a cradle");
    let named = format!("{}scan = \"../secret.stl\"\n{}", &text[..stone], &text[stone..]);
    fs::write(server.folder.join("../secret.stl"), "solid secret\nendsolid secret")
        .expect("written");
    let answer =
        server.post("api/edit", &json!({ "name": "a.toml", "text": named, "changes": [] }));
    let told = answer.json().to_string();
    assert!(told.contains("is not in the folder of the job"), "{told}");
    fs::write(server.folder.join("a.toml"), &named).expect("written");
    let answer = server.post("api/make", &json!({ "name": "a.toml" }));
    assert_eq!((answer.status, answer.code().as_str()), (422, "cannot_be_made"));
    assert!(!server.folder.join("prints").exists());
    // Nor through a table that varies such a job, or one elsewhere.
    let outside = server.folder.parent().expect("a folder").join("outside-wand.toml");
    fs::write(&outside, example("ember-wand.toml")).expect("written");
    for (name, table) in [
        ("here.csv", "base,handle.length\na.toml,210\n"),
        ("there.csv", "base,handle.length\n../outside-wand.toml,210\n"),
        (
            "there.toml",
            "format = 1\nbase = \"../outside-wand.toml\"\n[[sweep]]\nfield = \"handle.length\"\n\
             values = [210]\n",
        ),
    ] {
        fs::write(server.folder.join(name), table).expect("written");
        let answer = server.post("api/batch", &json!({ "names": [name] }));
        assert_eq!((answer.status, answer.code().as_str()), (422, "cannot_be_made"), "{name}");
        assert!(!server.folder.join("batch").exists(), "{name}");
    }
}

#[test]
fn too_large_and_malformed_bodies_are_refused() {
    let server = Server::start("bodies", &[]);
    let head = [("Content-Type", "application/json")];
    let large = vec![b' '; (4 << 20) + 1];
    assert_eq!(server.ask("POST", "api/edit", &head, &large).status, 413);
    let job = json!({ "name": "a.toml", "text": "x".repeat((1 << 20) + 1), "was": null });
    assert_eq!(server.post("api/save", &job).status, 413);
    for body in ["", "{", "[]", "null", "{\"name\": 1}", "{\"name\": \"a.toml\", \"more\": 1}"] {
        let answer = server.ask("POST", "api/open", &head, body.as_bytes());
        assert_eq!((answer.status, answer.code().as_str()), (400, "bad_request"), "{body}");
    }
    assert_eq!(
        server.ask("POST", "api/open", &[("Content-Type", "text/plain")], b"{}").status,
        415
    );
    assert_eq!(server.ask("POST", "api/open", &[], b"{}").status, 415);
    assert_eq!(server.get("api/open").status, 405);
    assert_eq!(server.ask("DELETE", "api/files", &[], b"").status, 405);
    assert_eq!(server.ask("POST", "", &head, b"{}").status, 405);
    assert_eq!(server.get("api/none").status, 404);
    let bad = [("Content-Type", "application/json"), ("bench-page", "a b"), ("bench-edit", "1")];
    assert_eq!(server.ask("POST", "api/edit", &bad, b"{}").status, 400);
    assert_eq!(server.get("api/files").status, 200, "it still answers");
}

#[test]
fn a_body_that_does_not_come_is_given_up_and_others_are_answered() {
    let server = Server::start("slow", &[]);
    let head = format!(
        "POST /{}/api/open HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\n\
         Content-Length: 100\r\n\r\n{{",
        server.token, server.port
    );
    let begun = Instant::now();
    let mut slow: Vec<_> = (0..100).map(|_| server.connected()).collect();
    slow.iter_mut().for_each(|stream| stream.write_all(head.as_bytes()).expect("sent"));
    // Heads that never end are given up too.
    let mut half = server.connected();
    half.write_all(b"GET / HTTP/1.1\r\nHost: ").expect("sent");
    assert_eq!(server.get("api/files").status, 200);
    assert!(begun.elapsed() < Duration::from_secs(8), "{:?}", begun.elapsed());
    for stream in &mut slow {
        let mut all = [0; 4096];
        let read = stream.read(&mut all).expect("an answer");
        let answer = Answer::of(&all[..read]);
        assert_eq!(answer.status, 408);
    }
    let mut rest = Vec::new();
    half.read_to_end(&mut rest).expect("closed");
    assert!(begun.elapsed() < Duration::from_secs(40), "{:?}", begun.elapsed());
}
