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

fn notes_of(fields: &str) -> Vec<Note> {
    notes(fields)
}

const CLEAR: &str = "place: At(x: 1.5, y: 1.8, z: 1)";

#[test]
fn a_plain_set_gets_the_general_word_only() {
    let notes = notes(&head(CLEAR));
    assert!(notes.iter().all(|note| note.subject == "set"), "{notes:#?}");
    for (number, word) in
        ["tape the cables", "never open a head", "before the first flash"].into_iter().enumerate()
    {
        assert!(notes[number].remedy.contains(word), "{notes:#?}");
    }
    assert_eq!(notes.len(), 3);
    // where there is no head there is nothing to warn of
    assert!(notes_of("ambient: (ev: 8),").is_empty());
}

#[test]
fn shutter_against_sync() {
    let set = |shutter: &str| format!("{} camera: (shutter: \"{shutter}\"),", head(CLEAR));
    let note = said(&set("1/320"), Severity::Problem, "camera", "dark band");
    assert!(note.remedy.contains("high-speed sync") && note.remedy.contains("stops of flash"));
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
    let note = said(&set(11.0), Severity::Caution, "ambient", "tint the shadows");
    assert!(note.what.contains("the flash at the face"), "{}", note.what);
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

#[test]
fn a_head_against_the_ceiling() {
    let at = |y: f64| {
        head(&format!(
            "modifier: Panel(width: 0.6, height: 0.8), place: At(x: 1, y: {y}, z: 1), \
             aim: Point(x: 0, y: {y}, z: -1)"
        ))
    };
    said(&at(2.8), Severity::Problem, "key", "0.20 m into the ceiling");
    silent(&at(2.5), "into the ceiling");
}

/// A sitter 1 m before the back wall, the camera 2.9 m before the sitter.
fn sitter(lights: &str) -> String {
    format!(
        "room: (height: 4, depth: 5, mark: (from_left: 3, from_back: 1)), sitter: (), lights: [{lights}], \
         camera: (place: At(x: 0, y: 1.5, z: 2.9)),"
    )
}

fn around(name: &str, azimuth: f64, elevation: f64, power: f64) -> String {
    format!(
        "(name: \"{name}\", power: {power}, fixture: false, \
         place: Around(azimuth: {azimuth}, elevation: {elevation}, distance: 1.8)),"
    )
}

#[test]
fn the_sitters_shadow_and_two_that_cross() {
    let one = sitter(&around("key", 35.0, 15.0, -3.0));
    let note = said(&one, Severity::Caution, "key", "the shadow of the sitter on back wall");
    assert!(note.what.contains("stops deep") && note.what.contains("to the left"), "{}", note.what);
    silent(&one, "two shadows");
    // from the side it falls far out of the frame
    silent(&sitter(&around("key", 80.0, 15.0, -3.0)), "the shadow of the sitter");

    let second = |power: f64| {
        sitter(&(around("key", 40.0, 15.0, -3.0) + &around("second", -40.0, 15.0, power)))
    };
    let note = said(&second(-3.5), Severity::Caution, "second", "two shadows of like strength");
    assert!(note.what.contains("stops under \"key\""), "{}", note.what);
    silent(&second(-5.0), "two shadows");
}

#[test]
fn dead_eyes() {
    let high = sitter(&around("key", 10.0, 70.0, -3.0));
    said(&high, Severity::Caution, "sitter", "no head is mirrored in the eyes");
    silent(&sitter(&around("key", 15.0, 15.0, -3.0)), "mirrored");
}

#[test]
fn a_stands_shadow() {
    let set = |x: f64| {
        format!(
            "lights: [(name: \"key\", fixture: false, place: At(x: 2.2, y: 1.6, z: 2.5), \
             aim: Point(x: 0, y: 1.5, z: -2)), \
             (name: \"other\", place: At(x: {x}, y: 1.6, z: 1), power: -6, \
             aim: Point(x: {x}, y: 1.6, z: -2))], \
             camera: (place: At(x: 0, y: 1.5, z: 2.9), aim: Point(x: 0, y: 1.5, z: 0)),"
        )
    };
    said(&set(1.467), Severity::Caution, "key", "the shadow of a stand on back wall");
    silent(&set(2.5), "the shadow of a stand");
}

#[test]
fn a_backdrop_too_narrow() {
    let set = |width: f64| {
        format!(
            "{} cloths: [(name: \"linen\", fabric: (paint: (reflectance: 0.4)), folds: 0, \
             shape: Backdrop(width: {width}, top: 2.9, behind: 1))], \
             camera: (place: At(x: 0, y: 1.5, z: 2.9), aim: Point(x: 0, y: 1.5, z: 0)),",
            head(CLEAR)
        )
    };
    let note = said(&set(0.9), Severity::Caution, "linen", "too small for the frame");
    // at 2.9 m 85 mm focus at 87.6 mm: the frame is 3.9 m · 24/87.6 = 1.07 m wide there
    assert!(note.what.contains("0.08 m at the left"), "{}", note.what);
    silent(&set(2.0), "too small");
}

#[test]
fn a_bounce_that_is_tinted() {
    let set = |color: &str| {
        format!(
            "room: (ceiling: (reflectance: 0.6, color: \"{color}\")), lights: [\
             (name: \"key\", power: -4, place: At(x: -1.5, y: 1.8, z: 1)), \
             (name: \"fill\", place: At(x: 1.5, y: 1.8, z: 1), aim: Ceiling)],"
        )
    };
    let note = said(&set("#e2b27c"), Severity::Caution, "fill", "arrives warmer");
    assert!(note.what.contains("mired") && note.remedy.contains("gel the head by −"), "{note:?}");
    silent(&set("#ffffff"), "arrives");
}
