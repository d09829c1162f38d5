//! `check` from plan to note: a plan for each kind of note, and the set that lacks its cause.

use foreshadow::plan::{self, Plan};
use foreshadow::shoot::{self, Note, Severity};

fn parse(fields: &str) -> Plan {
    plan::parse(&format!("(format: 1, {fields})"), "test").unwrap_or_else(|e| panic!("{e}"))
}

/// One head in a large room without a sitter.
fn head(fields: &str) -> String {
    format!("lights: [(name: \"key\", {fields})],")
}

fn notes(fields: &str) -> Vec<Note> {
    shoot::notes(&parse(fields))
}

/// The one note about `subject` that says `what`.
#[track_caller]
fn said(fields: &str, severity: Severity, subject: &str, what: &str) -> Note {
    let notes = notes(fields);
    let found: Vec<_> =
        notes.iter().filter(|n| n.subject == subject && n.what.contains(what)).collect();
    let [one] = found.as_slice() else {
        panic!("{} notes on {subject} say {what:?}: {notes:#?}", found.len())
    };
    assert_eq!(one.severity, severity, "{one:?}");
    assert!(!one.remedy.is_empty());
    (*one).clone()
}

#[track_caller]
fn silent(fields: &str, what: &str) {
    let notes = notes(fields);
    assert!(notes.iter().all(|note| !note.what.contains(what)), "{what:?} in {notes:#?}");
}

const CLEAR: &str = "place: At(x: 1.5, y: 1.8, z: 1)";

#[test]
fn a_plain_set_gets_the_general_word_only() {
    let notes = notes(&head(CLEAR));
    assert_eq!(notes.len(), 1, "{notes:#?}");
    assert!(notes[0].remedy.contains("tape the cables"));
}

#[test]
fn shutter_against_sync() {
    let set = |shutter: &str| format!("{} camera: (shutter: \"{shutter}\"),", head(CLEAR));
    said(&set("1/320"), Severity::Problem, "camera", "dark band");
    silent(&set("1/200"), "dark band");
}

#[test]
fn power_against_the_heads_range() {
    let set = |power: &str| head(&format!("{CLEAR}, power: {power}"));
    said(&set("1"), Severity::Problem, "key", "1.0 stops above full");
    said(&set("-8"), Severity::Problem, "key", "1.0 stops below");
    silent(&set("-7"), "stops below");
}

#[test]
fn the_rooms_light_in_the_shadows() {
    let set = |ev: f64| format!("{} ambient: (ev: {ev}),", head(CLEAR));
    said(&set(11.0), Severity::Caution, "ambient", "tint the shadows");
    silent(&set(5.0), "tint");
}

#[test]
fn heads_and_stands_in_walls() {
    let at =
        |x: f64| head(&format!("place: At(x: {x}, y: 1.6, z: 1), aim: Point(x: 0, y: 1.6, z: 1)"));
    said(&at(2.9), Severity::Problem, "key", "into the right wall");
    said(&at(2.68), Severity::Caution, "key", "the legs need");
    silent(&at(2.0), "legs");
    // at 2.7 m under a ceiling of 3 m a head hangs: there are no legs, and nothing to bag
    let hung = head("place: At(x: 2.6, y: 2.7, z: 1), aim: Point(x: 0, y: 1.6, z: 1)");
    silent(&hung, "legs");
    silent(&hung, "topple");
    said(&hung, Severity::Safety, "key", "hangs from the ceiling");
}

#[test]
fn things_in_the_frame() {
    let camera = "camera: (place: At(x: 0, y: 1.5, z: 2.9), aim: Point(x: 0, y: 1.5, z: 0)),";
    let at = |x: f64| {
        format!(
            "room: (height: 4), {} {camera}",
            head(&format!("place: At(x: {x}, y: 2.4, z: -1), aim: Point(x: 0, y: 1.2, z: 2.9)"))
        )
    };
    // the head is above the frame, its pole runs through it
    said(&at(0.2), Severity::Caution, "key stand", "in the picture");
    silent(&at(2.2), "in the picture");
    let board = |x: f64| {
        format!(
            "{} {camera} boards: [(name: \"flag\", width: 0.3, height: 0.3, \
             place: At(x: {x}, y: 1.5, z: 0.5), aim: Point(x: {x}, y: 1.5, z: 3), kind: Flag)],",
            head(CLEAR)
        )
    };
    assert!(
        notes(&board(0.0)).iter().any(|n| n.subject.starts_with("flag")),
        "{:#?}",
        notes(&board(0.0))
    );
    silent(&board(2.0), "in the picture");
}

#[test]
fn flare() {
    let camera = "camera: (place: At(x: 0, y: 1.5, z: 2.9), aim: Point(x: 0, y: 1.5, z: 0)),";
    let rim = |field: f64| {
        head(&format!(
            "modifier: Dish(diameter: 0.18, beam: {}, field: {field}), \
             place: At(x: 1, y: 2.2, z: -1.2), aim: Point(x: 0, y: 1.6, z: 0)",
            0.6 * field
        )) + camera
    };
    said(&rim(60.0), Severity::Caution, "key", "flare");
    silent(&rim(40.0), "flare");
}

#[test]
fn rigging() {
    let sitter = "sitter: (),";
    let around = |rest: &str| format!("{sitter} {}", head(&format!("place: Around({rest})")));
    said(
        &head("place: At(x: 1.5, y: 2.2, z: 1)"),
        Severity::Safety,
        "key",
        "a head at 2.2 m can topple",
    );
    let panel = head(&format!("{CLEAR}, modifier: Panel(width: 1.2, height: 0.8)"));
    said(&panel, Severity::Safety, "key", "a large front");
    let over = format!("{sitter} room: (height: 4), {}", head("place: At(x: 0.1, y: 2.4, z: 0.2)"));
    said(&over, Severity::Safety, "key", "hangs over the sitter");
    said(
        &around("azimuth: 20, elevation: 0, distance: 0.5"),
        Severity::Safety,
        "key",
        "from the sitter's eyes",
    );
    let cloth = format!(
        "cloths: [(name: \"linen\", fabric: (paint: (reflectance: 0.5)), \
         shape: Backdrop(width: 2, top: 2.4, behind: 1))], {}",
        head("place: At(x: 0, y: 1.5, z: -0.75), aim: Point(x: 0, y: 1.5, z: 2)")
    );
    said(&cloth, Severity::Safety, "key", "from \"linen\": its lamp can scorch it");
}

#[test]
fn a_lens_too_close() {
    let set = |distance: f64| {
        format!(
            "sitter: (), {} camera: (focal_mm: 35, place: Around(azimuth: 0, elevation: 0, distance: {distance})),",
            head(CLEAR)
        )
    };
    said(&set(0.6), Severity::Caution, "camera", "the nose will look large");
    silent(&set(1.5), "nose");
}

#[test]
fn a_set_that_cannot_stand() {
    let set =
        format!("sitter: (), {}", head("place: Around(azimuth: 90, elevation: 0, distance: 3.5)"));
    let note = said(&set, Severity::Problem, "light \"key\"", "the set cannot stand");
    assert!(note.remedy.starts_with("bring it nearer"), "{}", note.remedy);
}
