//! Bad plans and bad arguments through the real program: each gives one clear error that names
//! the file, the place, the value and the remedy, a non-zero status, and never a panic.

use std::path::Path;
use std::process::{Command, Output, Stdio};

/// A plan that is good but for what a case puts into it.
fn plan(fields: &str) -> String {
    format!("(\n    format: 1,\n    {fields}\n)\n")
}

/// A plan whose only light has these fields.
fn light(fields: &str) -> String {
    plan(&format!("lights: [(\n        name: \"key\",\n        {fields}\n    )],"))
}

const LIT: &str = "ambient: (ev: 5),";
const AT: &str = "place: At(x: 1, y: 2, z: 1),";

fn lit(fields: &str) -> String {
    plan(&format!("{LIT}\n    {fields}"))
}

fn placed(fields: &str) -> String {
    light(&format!("{AT}\n        {fields}"))
}

/// A plan's only board, on its stand.
fn board(fields: &str) -> String {
    format!("boards: [(name: \"b\", width: 1, height: 1, {AT} {fields})],")
}

fn foreshadow(folder: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_foreshadow"))
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap()
}

/// Runs and wants one error that holds all of `wanted`; says what is amiss.
fn refused(folder: &Path, arguments: &[&str], wanted: &[&str]) -> Option<String> {
    let output = foreshadow(folder, arguments);
    let error = String::from_utf8(output.stderr).unwrap();
    let mut amiss: Vec<String> = wanted
        .iter()
        .filter(|part| !error.contains(**part))
        .map(|part| format!("lacks {part:?}"))
        .collect();
    if output.status.code() != Some(2) {
        amiss.push(format!("{}", output.status));
    }
    if !output.stdout.is_empty() {
        amiss.push("prints to standard output".into());
    }
    if !error.starts_with("foreshadow: ") || error.matches("foreshadow: ").count() != 1 {
        amiss.push("is not one error".into());
    }
    if error.contains("panicked") || error.contains("RUST_BACKTRACE") {
        amiss.push("panicked".into());
    }
    (!amiss.is_empty()).then(|| format!("{arguments:?} {}:\n{error}\n", amiss.join(", ")))
}

/// Fails with all that is amiss.
fn all_well(amiss: Vec<String>) {
    assert!(amiss.is_empty(), "{} cases:\n{}", amiss.len(), amiss.concat());
}

/// Text of the plan, and what the error must name: line, field, value, remedy.
fn texts() -> Vec<(String, Vec<&'static str>)> {
    vec![
        // language
        (String::new(), vec!["empty", "foreshadow new"]),
        (" \n\n".into(), vec!["empty"]),
        ("hello".into(), vec![":1:1:", "`hello`", "( … )"]),
        ("[1, 2]".into(), vec![":1:1:", "`[`", "( … )"]),
        (plan("").replace(")", "lights: [(name: \"key\","), vec!["ends too early", "close every"]),
        (plan("title: \"The lamplighter,"), vec!["ends too early", "quote"]),
        (plan("/* why"), vec!["ends too early", "/*"]),
        (lit("") + ")", vec![":6:1:", "after the end"]),
        (lit("title: \"a\" note: \"b\","), vec![":4:16:", "`note`", "commas"]),
        (lit("title: \"a\\q\","), vec![":4:"]),
        (lit("#![enable(what)]"), vec![":4:"]),
        ("#![enable(what)]\n".to_owned() + &lit(""), vec![":1:", "what", "leave"]),
        ("(".repeat(100_000), vec![":1:"]),
        (plan(&format!("lights: {}", "[".repeat(100_000))), vec![":3:"]),
        (plan(&format!("lights: [(aim: {}", "Some(".repeat(100_000))), vec![":3:"]),
        // format
        ("(ambient: (ev: 5))".into(), vec!["`format`", "missing", "format: 1"]),
        ("(format: 0, ambient: (ev: 5))".into(), vec![":1:10:", "`0`", "format: 1"]),
        ("(format: 7, lamps: [])".into(), vec![":1:10:", "`7`", "newer"]),
        ("(format: \"1\", ambient: (ev: 5))".into(), vec![":1:10:", "\"1\"", "format: 1"]),
        // fields and choices
        (lit("cammera: (iso: 100),"), vec![":4:5:", "`cammera`", "did you mean `camera`?"]),
        (placed("powr: -1,"), vec!["lights[0]", ":6:9:", "`powr`", "`power`"]),
        (light("power: -1,"), vec!["lights[0]", "`place`", "missing", "add `place"]),
        (lit("ambient: (ev: 6),"), vec![":4:5:", "`ambient`", "twice"]),
        (light("place: Arround(azimuth: 0),"), vec![":5:16:", "`Arround`", "`Around`"]),
        (lit("sitter: (pose: Sitting),"), vec![":4:20:", "`Sitting`", "Standing"]),
        (lit("lights: (name: \"key\"),"), vec![":4:13:", "not a list", "[ … ]"]),
        (lit("ambient_ev: 3,"), vec![":4:5:", "`ambient_ev`"]),
        // the camera's lens, shutter, frame and development
        (lit("camera: (nd: 30),"), vec![":4:18:", "30 stops", "0 to 24"]),
        (lit("camera: (nd: \"dark\"),"), vec![":4:18:", "\"dark\"", "ND8"]),
        (lit("camera: (diffusion: \"9/8\"),"), vec![":4:25:", "1.125", "1/8"]),
        (lit("camera: (flare: -1),"), vec!["camera.flare", ":4:21:", "-1", "0.005 is usual"]),
        (
            lit("camera: (sync: \"1/250\", curtain: \"1/60\"),"),
            vec!["camera.curtain", ":4:38:", "1/60 s", "1/250 s", "up to the sync time"],
        ),
        (
            lit("camera: (vignetting: Barrel(widest: 2, corner_stops: 99)),"),
            vec!["camera.vignetting.corner_stops", "99", "0 to 6"],
        ),
        (
            lit("camera: (framing: (part: Bust, height: 0.8)),"),
            vec!["camera.framing.part", ":4:30:", "no sitter", "add a sitter"],
        ),
        (
            lit("sitter: (), camera: (framing: (part: Bust, height: nan)),"),
            vec![":4:56:", "`nan`", "number"],
        ),
        (
            lit("sitter: (), camera: (framing: (part: Busst, height: 0.8)),"),
            vec![":4:42:", "`Busst`", "the part to frame", "did you mean `Bust`?"],
        ),
        (
            lit("sitter: (), camera: (framing: (part: Named(\"crate\"), height: 0.8)),"),
            vec!["camera.framing.part", "\"crate\"", "no cloth, box or board"],
        ),
        (
            lit("development: (contrast: 9),"),
            vec!["development.contrast", ":4:29:", "9", "0.25 to 4"],
        ),
        (
            lit("development: (monochrome: (red: 1, green: 0, blue: -1)),"),
            vec!["development.monochrome", ":4:31:", "add up to 0"],
        ),
        (lit("development: (tone: Natural),"), vec![":4:25:", "`Natural`", "Neutral"]),
        (lit("sitter: (skin: 2.5),"), vec!["sitter.skin", ":4:20:", "`2.5`", "whole number"]),
        (lit("sitter: (skin: -4),"), vec!["sitter.skin", "whole number"]),
        (lit("title: 5,"), vec![":4:12:", "`5`", "quotes"]),
        (lit("camera: (upright: yes),"), vec![":4:23:", "`yes`", "`true`"]),
        // units
        (placed("power: 1/8,"), vec![":6:16:", "`1/8`", "\"1/8\""]),
        (placed("power: \"50%\","), vec!["lights[0].power", "50%", "\"1/2\""]),
        (placed("power: 50,"), vec!["lights[0].power", "50", "per cent"]),
        (placed("power: half,"), vec!["lights[0].power", "`half`", "1/8"]),
        (placed("power: (1),"), vec!["lights[0].power", "`(`", "1/8"]),
        (lit("room: (width: 5 m),"), vec!["room.width", ":4:21:", "\"5 m\""]),
        (lit("room: (width: \"5 lm\"),"), vec!["room.width", "5 lm", "ft"]),
        (lit("room: (width: \"5,5 m\"),"), vec!["room.width", "5,5 m", "point"]),
        (lit("room: (width: 500),"), vec!["room.width", "500 m", "100 m"]),
        (lit("room: (width: 6000),"), vec!["room.width", "6000", "metres"]),
        (lit("room: (width: -6),"), vec!["room.width", "-6 m", "negative", "100 m"]),
        (lit("room: (width: NaN),"), vec!["room.width", "NaN", "finite"]),
        (lit("room: (height: inf),"), vec!["room.height", "inf", "finite"]),
        (lit("camera: (shutter: 125),"), vec!["camera.shutter", "125", "\"1/125\""]),
        (lit("camera: (shutter: \"fast\"),"), vec!["camera.shutter", "fast", "1/125"]),
        (lit("camera: (aperture: 0),"), vec!["camera.aperture", "0", "f/8"]),
        (lit("camera: (aperture: \"F/wide\"),"), vec!["camera.aperture", "F/wide", "f/8"]),
        (placed("head: (kelvin: \"5600 K\"),"), vec!["head.kelvin", "5600 K", "without quotes"]),
        // ranges
        (lit("camera: (iso: 0),"), vec!["camera.iso", ":4:19:", "0 is out of range", "1000000"]),
        (lit("camera: (focal_mm: -85),"), vec!["camera.focal_mm", "-85", "3 to 2000"]),
        (lit("camera: (sync: \"2 s\"),"), vec!["camera.sync", "2 s", "1/200"]),
        (lit("camera: (white_balance: NaN),"), vec!["camera.white_balance", "NaN", "kelvin"]),
        (lit("room: (walls: (reflectance: 1.2)),"), vec!["room.walls.reflectance", "1.2", "0.98"]),
        (lit("room: (walls: (color: \"blue\")),"), vec!["room.walls.color", "blue", "#a98a66"]),
        (
            lit("room: (walls: (reflectance: 0.5, color: \"#ff0000\")),"),
            vec!["room.walls.reflectance", "0.5", "0.20", "paler"],
        ),
        (lit("room: (walls: ()),"), vec!["room.walls", "#ffffff", "reflectance: 0.8"]),
        (
            lit("room: (height: 1.5), sitter: (height: 1.8),"),
            vec!["sitter.height", "1.8 m", "1.5 m"],
        ),
        (
            plan(
                "ambient: (ev: 5), room: (width: 1, mark: (from_left: 0.2, from_back: 1)), sitter: (),",
            ),
            vec!["sitter", "0.66 m wide", "beyond the left wall"],
        ),
        (lit("sitter: (height: 17.8),"), vec!["sitter.height", "17.8 m", "1.2 m to 2.2 m"]),
        (lit("sitter: (skin: 11),"), vec!["sitter.skin", "11", "1 to 10"]),
        (lit("sitter: (head: (turn: 170)),"), vec!["sitter.head.turn", "170", "80"]),
        (lit("sitter: (pose: SeatedOnBox),"), vec!["sitter.pose", "seat"]),
        (
            lit("sitter: (pose: SeatedOnBox, seat: \"crate\"),"),
            vec!["sitter.seat", "crate", "no box"],
        ),
        (lit("ambient_light: ()"), vec!["`ambient_light`", "`ambient`"]),
        (
            placed("modifier: Dish(diameter: 0.2, beam: 80, field: 60),"),
            vec!["modifier.field", "60", "80"],
        ),
        (
            placed("modifier: Dish(diameter: 0.2, beam: 80, field: 200),"),
            vec!["modifier.field", "200", "179"],
        ),
        (placed("modifier: Panel(width: 0, height: 1),"), vec!["modifier.width", "0 m", "0.01 m"]),
        (placed("head: (energy_ws: -400),"), vec!["head.energy_ws", "-400", "W·s"]),
        (placed("head: (kelvin: 55),"), vec!["head.kelvin", "55", "1000"]),
        (placed("head: (output: GuideNumber(0)),"), vec!["head.output", "0 is out", "500"]),
        (placed("gel: Mired(shift: 100, transmission: 2),"), vec!["gel.transmission", "2", "1"]),
        (placed("gel: Color(color: \"#12345\", transmission: 1),"), vec!["gel.color", "#12345"]),
        // modifiers and what is on them
        (placed("modifier: Dihs(),"), vec![":6:19:", "`Dihs`", "`Dish`"]),
        (placed("modifier: Octagon(diametre: 1),"), vec!["`diametre`", "did you mean `diameter`?"]),
        (placed("modifier: ShortDish(beam: 130),"), vec!["modifier.field", "120", "130"]),
        (placed("modifier: LongThrow(diameter: 9),"), vec!["modifier.diameter", "9 m", "3 m"]),
        (
            placed("modifier: BeautyDish(deflector: 0.6),"),
            vec!["modifier.deflector", "0.6 m", "0.495 m"],
        ),
        (placed("modifier: Ring(hole: 0.25),"), vec!["modifier.hole", "0.25 m", "0.225 m"]),
        (placed("modifier: Snoot(length: -1),"), vec!["modifier.length", "-1 m", "negative"]),
        (placed("modifier: LensSpot(beam: 120),"), vec!["modifier.beam", "120", "90"]),
        (placed("modifier: LensSpot(focus: 0),"), vec!["modifier.focus", "0 m", "0.3 m"]),
        (
            placed("modifier: LensSpot(shutters: (left: 0.6, right: 0.5)),"),
            vec!["shutters.left", "`right`", "less than 1"],
        ),
        (
            placed("modifier: LensSpot(shutters: (top: 1.5)),"),
            vec!["shutters.top", "1.5", "0 to 1"],
        ),
        (placed("modifier: SoftBox(width: 0),"), vec!["modifier.width", "0 m", "0.01 m"]),
        (placed("modifier: SoftBox(recess: 2),"), vec!["modifier.recess", "2 m", "1 m"]),
        (placed("modifier: SoftBox(hot: 9),"), vec!["modifier.hot", "9", "0 to 5"]),
        (placed("modifier: Octagon(beam: 170),"), vec!["modifier.beam", "170", "120 diffuses"]),
        (placed("modifier: BounceUmbrella(loss: -1),"), vec!["modifier.loss", "-1", "0 to 10"]),
        (placed("modifier: ShootThrough(spill: 1.2),"), vec!["modifier.spill", "1.2", "0 to 1"]),
        (placed("modifier: Scrim(transmission: 1),"), vec!["modifier.transmission", "1", "0.95"]),
        (placed("modifier: Scrim(behind: 0),"), vec!["modifier.behind", "0 m", "0.15 m"]),
        (placed("modifier: Lantern(diameter: 7),"), vec!["modifier.diameter", "7 m", "4 m"]),
        (
            placed("modifier: Photometric(file: \"\"),"),
            vec!["modifier.file", "no file", "(.ies or .ldt)"],
        ),
        (placed("grid: 1,"), vec!["\"key\".grid", "1 is out", "10 to 60"]),
        (
            placed("modifier: BareTube(), grid: 20,"),
            vec!["\"key\".grid", "a bare tube takes no grid"],
        ),
        (placed("doors: (top: 200),"), vec!["doors.top", "200", "90 is wide open"]),
        (placed("doors: (topp: 20),"), vec!["`topp`", "did you mean `top`?"]),
        (
            placed("modifier: SoftBox(), doors: (),"),
            vec!["doors", "a soft box takes no barn doors"],
        ),
        (placed("modifier: SoftBox(), cloth: (),"), vec!["cloth", "has its own"]),
        (placed("cloth: (loss: -2),"), vec!["cloth.loss", "-2", "stops"]),
        (
            placed("modifier: SoftBox(), head: (tube: ()),"),
            vec!["head.tube", "does not show", "open dish"],
        ),
        (placed("head: (tube: (share: 2)),"), vec!["tube.share", "2", "0 to 1"]),
        (placed("head: (clas: Studio400),"), vec!["`clas`", "did you mean `class`?"]),
        (placed("head: (class: Studio450),"), vec!["`Studio450`", "Studio400"]),
        (placed("head: (count: 0),"), vec!["head.count", "0 is out", "16"]),
        (placed("head: (step: Quarter),"), vec!["`Quarter`", "Third"]),
        (placed("head: (recycle_s: -1),"), vec!["head.recycle_s", "-1", "seconds"]),
        (placed("head: (modelling_w: 90000),"), vec!["head.modelling_w", "90000", "watts"]),
        (
            placed("head: (drift: [(power: -3, kelvin: 50)]),"),
            vec!["drift[0]", "kelvin", "50", "1000"],
        ),
        (placed("head: (drift: [(power: 1, kelvin: 5600)]),"), vec!["drift[0]", "above full"]),
        (placed("head: (output: Lumens(0)),"), vec!["head.output", "0 is out", "lm"]),
        (placed("head: (output: Candela(-5)),"), vec!["head.output", "-5", "cd"]),
        (
            placed("head: (output: Lux(lux: 100, distance: 0)),"),
            vec!["output.distance", "0 m", "0.1 m"],
        ),
        (placed("head: (output: AsFiled),"), vec!["head.output", "no photometric file", "Lumens"]),
        // boards
        (lit(&board("kind: Net(stops: 0),")), vec!["kind.stops", "0 is out", "half to two"]),
        (lit(&board("kind: Silverr,")), vec!["`Silverr`", "`Silver`"]),
        (lit(&board("kind: Flag, round: true, fold: 90,")), vec!["fold", "cannot fold"]),
        (lit(&board("kind: White, fold: 5,")), vec!["fold", "5", "between the leaves"]),
        (
            lit(&board("kind: White, back: (reflectance: 2),")),
            vec!["back.reflectance", "2", "0.98"],
        ),
        (
            lit(&board("kind: CutOut(Shapes(holes: [])),")),
            vec!["kind.holes", "0 openings", "Circle"],
        ),
        (
            lit(&board("kind: CutOut(Shapes(holes: [Circle(diameter: 0)])),")),
            vec!["holes[0]", "diameter", "0 m"],
        ),
        (
            lit(&board("kind: CutOut(Shapes(holes: [Outline([(0, 0), (1, 0)])])),")),
            vec!["holes[0]", "2 corners", "3 to"],
        ),
        (
            lit(&board("kind: CutOut(Picture(file: \"a.png\", level: 0)),")),
            vec!["kind.level", "0 is out", "half is usual"],
        ),
        (
            lit(&board("kind: CutOut(Slats(count: 4, solid: 0.5)), round: true,")),
            vec!["kind", "rectangular", "Shapes"],
        ),
        // the room's own light
        (
            plan("lamps: [(name: \"l\", place: At(x: 0, y: 2, z: 0))],"),
            vec!["lamps[0]", "`level`", "missing"],
        ),
        (
            plan("lamps: [(name: \"l\", place: At(x: 0, y: 2, z: 0), level: Lumens(-1))],"),
            vec!["lamps[0] \"l\".level", "-1", "800"],
        ),
        (
            plan(
                "lamps: [(name: \"l\", place: At(x: 0, y: 2, z: 0), form: Globe(diameter: 9), level: Ev(4))],",
            ),
            vec!["form.diameter", "9 m", "3 m"],
        ),
        (
            lit("lamps: [(name: \"ambient\", place: At(x: 0, y: 2, z: 0), level: Ev(4))],"),
            vec!["lamps[0]", "\"ambient\" is kept"],
        ),
        (
            plan("windows: [(name: \"w\", wall: Left, width: 9, height: 1, ev: 8)],"),
            vec!["windows[0] \"w\".along", "-4.50 to 4.50", "5.00 m deep"],
        ),
        (
            plan("windows: [(name: \"w\", wall: Left, width: 1, height: 4, ev: 8)],"),
            vec!["windows[0] \"w\".height", "4.90 m", "3.00 m"],
        ),
        (
            plan(
                "windows: [(name: \"w\", wall: Left, width: 1, height: 1, panes: (0, 2), ev: 8)],",
            ),
            vec!["windows[0] \"w\".panes", "(0, 2)", "(20, 20)"],
        ),
        (
            plan("windows: [(name: \"w\", wall: Nort, width: 1, height: 1, ev: 8)],"),
            vec!["`Nort`", "Left"],
        ),
        (
            plan(
                "windows: [(name: \"w\", wall: Left, width: 1, height: 1, sky: General(number: 16, sun_azimuth: 0, sun_elevation: 20), ev: 8)],",
            ),
            vec!["sky.number", "16", "1 to 15"],
        ),
        (
            plan(
                "windows: [(name: \"w\", wall: Left, width: 1, height: 1, sky: Clear(sun_azimuth: 0, sun_elevation: 120), ev: 8)],",
            ),
            vec!["sky.sun_elevation", "120", "90"],
        ),
        // the set
        (plan(""), vec!["lights", "no light", "ambient: (ev: 6)"]),
        (placed("on: false,"), vec!["lights", "off", "switch one on"]),
        (
            light("place: At(x: 9, y: 2, z: 1),"),
            vec!["\"key\".place", ":5:16:", "right wall", "6.00 m"],
        ),
        (light("place: At(x: 0, y: 4, z: 1),"), vec!["\"key\".place", "ceiling", "3 m high"]),
        (
            light("place: Stand(azimuth: 90, distance: \"20 ft\", height: 2),"),
            vec!["\"key\".place", "right wall"],
        ),
        (
            light("place: Around(azimuth: 0, elevation: 100, distance: 2),"),
            vec!["elevation", "100", "90"],
        ),
        (
            light(
                "place: Around(azimuth: 0, elevation: 0, distance: 2, of: Toward(azimuth: 0, tilt: 0)),",
            ),
            vec!["place.of", "direction"],
        ),
        (placed("aim: Named(\"linnen\"),"), vec!["aim", "linnen", "no cloth"]),
        (
            plan(&format!("lights: [(name: \"key\", {AT}), (name: \"key\", {AT})],")),
            vec!["lights[1] \"key\".name", "taken by lights[0]", "key 2"],
        ),
        (
            plan(&format!("lights: [(name: \"ambient\", {AT})],")),
            vec!["lights[0]", "\"ambient\" is kept", "another name"],
        ),
        (plan(&format!("lights: [(name: \" \", {AT})],")), vec!["lights[0]", "no name"]),
        (plan(&format!("lights: [(name: \"a,b\", {AT})],")), vec!["lights[0]", "a,b", "letters"]),
        (
            plan(&format!("lights: [{}],", format!("(name: \"key\", {AT}),").repeat(70))),
            vec!["lights: 70 lights are too many", "keep at most 64"],
        ),
        (
            lit(
                "cloths: [(name: \"c\", fabric: (paint: (reflectance: 0.5)), shape: Backdrop(width: 9, top: 2, behind: 1))],",
            ),
            vec!["cloths[0] \"c\".shape", "9 m", "narrower"],
        ),
        (
            lit(
                "cloths: [(name: \"c\", fabric: (paint: (reflectance: 0.5)), shape: Over(boxes: [\"b\"], overhang: 1))],",
            ),
            vec!["cloths[0] \"c\".shape.boxes", "1 boxes are named, the plan has 0"],
        ),
        (
            lit("boxes: [(name: \"b\", width: 1, height: 9, depth: 1)],"),
            vec!["boxes[0] \"b\"", "6.00 m beyond the ceiling"],
        ),
        (lit("meter_constant: 25,"), vec!["meter_constant", "25", "250"]),
    ]
}

#[test]
fn bad_texts() {
    let folder = tempfile::tempdir().unwrap();
    let cases = texts();
    assert!(cases.len() >= 40, "{}", cases.len());
    let mut amiss = Vec::new();
    for (text, mut wanted) in cases {
        std::fs::write(folder.path().join("bad.ron"), &text).unwrap();
        wanted.push("bad.ron");
        wanted.push("hint: ");
        amiss.extend(refused(folder.path(), &["check", "bad.ron"], &wanted));
    }
    all_well(amiss);
}

#[test]
fn bad_files() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    std::fs::create_dir(path("folder.ron")).unwrap();
    std::fs::write(path("picture.ron"), b"\x89PNG\r\n\x1a\n\xff\xfe").unwrap();
    std::fs::write(path("binary.ron"), b"(format: 1, title: \"\xff\xfe\")").unwrap();
    // sparse: 200 MB by its size, nothing on the disk
    std::fs::File::create(path("huge.ron")).unwrap().set_len(200 << 20).unwrap();
    assert!(Command::new("mkfifo").arg(path("pipe.ron")).status().unwrap().success());
    let mut amiss = Vec::new();
    for (name, wanted) in [
        ("none.ron", "no such file"),
        ("folder.ron", "folder"),
        ("picture.ron", "this PNG cannot be read"),
        ("binary.ron", "not text"),
        ("huge.ron", "200 MB"),
        ("pipe.ron", "not a regular file"),
        ("/dev/zero", "not a regular file"),
    ] {
        for verb in ["check", "meter"] {
            amiss.extend(refused(folder.path(), &[verb, name], &[name, wanted]));
        }
        amiss.extend(refused(folder.path(), &["still", name, "-o", "a.png"], &[name, wanted]));
    }
    all_well(amiss);
}

#[test]
fn bad_arguments() {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    std::fs::write(path("good.ron"), placed("")).unwrap();
    std::fs::create_dir(path("shelf")).unwrap();
    std::fs::create_dir(path("shelf.png")).unwrap();
    std::fs::write(path("file"), "").unwrap();
    let still = |rest: &[&'static str]| [&["still", "good.ron", "-o", "a.png"], rest].concat();
    let mut amiss = Vec::new();
    for (arguments, wanted) in [
        (still(&["--size", "0x0"]), vec!["--size", "0x0", "960x640"]),
        (still(&["--size", "960"]), vec!["--size", "960", "960x640"]),
        (still(&["--size", "100000x100000"]), vec!["--size", "100000x100000", "16384"]),
        (still(&["--size", "16384x16384"]), vec!["--size", "megapixels"]),
        (still(&["--size", "-9x9"]), vec!["--size", "-9x9"]),
        (still(&["--samples", "1000000000"]), vec!["--samples", "1000000000", "65536"]),
        (still(&["--samples", "0"]), vec!["--samples", "0", "1 to 65536"]),
        (still(&["--samples", "-3"]), vec!["--samples", "-3"]),
        (still(&["--within", "0"]), vec!["--within", "0", "0.005 to 2"]),
        (still(&["--within", "nan"]), vec!["--within", "nan"]),
        (still(&["--within", "0.1", "--samples", "9"]), vec!["--within", "--samples"]),
        (still(&["--only", "kye"]), vec!["--only", "kye", "`key`"]),
        (still(&["--only", "key,"]), vec!["--only", "no such light"]),
        (still(&["--engine", "magic"]), vec!["--engine", "magic", "auto"]),
        (still(&["--seed", "-1"]), vec!["--seed"]),
        (still(&["--wat"]), vec!["--wat"]),
        (vec!["still", "good.ron"], vec!["--output"]),
        (vec!["still", "good.ron", "-o", "shelf"], vec!["shelf", "folder"]),
        (vec!["still", "good.ron", "-o", "shelf.png"], vec!["shelf.png", "folder"]),
        (vec!["still", "good.ron", "-o", "none/a.png"], vec!["none/a.png", "no folder none"]),
        (vec!["still", "good.ron", "-o", "a.gif"], vec!["a.gif", ".png"]),
        (vec!["still", "good.ron", "-o", "a"], vec!["a:", ".png"]),
        (vec!["still", "good.ron", "-o", "/proc/a.png"], vec!["/proc/a.png", "takes no files"]),
        (vec!["meter", "good.ron", "--at", "noze"], vec!["--at", "noze"]),
        (vec!["meter", "good.ron", "--at", "1,2"], vec!["--at", "1,2", "0,1.6,0.2"]),
        (vec!["meter", "good.ron", "--at", "1,2,NaN"], vec!["--at", "NaN"]),
        (vec!["meter", "good.ron", "--at", "0,1,0", "--dome", "sun"], vec!["--dome", "sun", "key"]),
        (vec!["export", "good.ron", "-o", "file"], vec!["file", "folder"]),
        (vec!["export", "good.ron", "-o", "none/set"], vec!["none/set", "no folder"]),
        (vec!["export", "good.ron", "-o", "-"], vec!["-", "folder"]),
        (vec!["new", "good.ron"], vec!["good.ron", "--force"]),
        (vec!["new", "b.ron", "--from", "lamplihgter"], vec!["--from", "`lamplighter`"]),
        (vec!["new", "--from", "lamplighter"], vec!["foreshadow new my.ron"]),
        (vec!["stil", "good.ron"], vec!["stil", "still"]),
        (vec!["check"], vec!["<PLAN>"]),
        (vec!["check", ""], vec!["<PLAN>"]),
        (vec!["check", "good.ron", "other.ron"], vec!["other.ron"]),
    ] {
        amiss.extend(refused(folder.path(), &arguments, &wanted));
    }
    all_well(amiss);
    for left in ["a.png", "b.ron", "a.gif", "none"] {
        assert!(!path(left).exists(), "{left} was made");
    }
    assert_eq!(std::fs::read_to_string(path("good.ron")).unwrap(), placed(""), "kept");
}

/// Plans whose every value is in range but whose set cannot stand, and what the error must say.
fn sets() -> Vec<(String, Vec<&'static str>)> {
    let sitter = "sitter: (),";
    vec![
        // a light put beyond a wall by its bearing round the face
        (
            lit(
                "sitter: (), lights: [(name: \"key\",\n place: Around(azimuth: 90, elevation: 0, distance: 3.5))],",
            ),
            vec![":5:9:", "light \"key\"", "x 3.50", "outside the room", "enlarge the room"],
        ),
        (
            lit(
                "sitter: (), lights: [(name: \"key\",\n place: Around(azimuth: 0, elevation: 80, distance: 2))],",
            ),
            vec![":5:9:", "light \"key\"", "outside the room"],
        ),
        // one name taken for another's neighbour: the second light is at fault
        (
            lit(&format!(
                "{sitter} lights: [(name: \"a\", {AT}),\n(name: \"b\", place: Around(azimuth: -90, elevation: 0, distance: 4))],"
            )),
            vec![":5:", "light \"b\"", "x -4.00"],
        ),
        // a head at its own target
        (
            lit(
                "lights: [(name: \"key\", place: At(x: 1, y: 1, z: 1),\n aim: Point(x: 1, y: 1, z: 1))],",
            ),
            vec![":5:7:", "light \"key\"", "its own target", "aim elsewhere"],
        ),
        // the camera
        (
            lit(&format!(
                "{sitter} camera: (\nplace: Around(azimuth: 0, elevation: 0, distance: 7)),"
            )),
            vec![":5:8:", "camera would be at", "outside the room"],
        ),
        (
            lit(
                "camera: (place: At(x: 0, y: 1, z: 2), aim: Toward(azimuth: 180, tilt: 0),\nfocus: Point(x: 0, y: 1, z: 1.9)),",
            ),
            vec![":5:8:", "focus plane", "0.10 m", "85 mm", "in front of the camera"],
        ),
        (
            lit(
                "camera: (place: At(x: 0, y: 1, z: 2), aim: Toward(azimuth: 180, tilt: 0),\nfocus: Point(x: 0, y: 1, z: 3)),",
            ),
            vec![":5:8:", "focus plane", "-1.00 m", "in front of the camera"],
        ),
        // a board beyond the wall
        (
            lit(&format!(
                "{sitter} boards: [(name: \"white\", width: 1, height: 1,\nplace: Around(azimuth: 90, elevation: 0, distance: 3.2), kind: Reflector(reflectance: 0.8))],"
            )),
            vec![":5:8:", "board \"white\"", "outside the room"],
        ),
        // files that are not there, and no files of their kind
        (
            lit(&format!(
                "lights: [(name: \"key\", {AT}\n modifier: Photometric(file: \"lamp.ies\"))],"
            )),
            vec![":5:", "light \"key\"", "lamp.ies", "no such file", "plan's folder"],
        ),
        (
            lit(&format!(
                "lights: [(name: \"key\", {AT}\n modifier: Photometric(file: \"bad.ron\"))],"
            )),
            vec![":5:", "light \"key\"", "bad.ron: line 2", "neither kind"],
        ),
        (
            lit(&format!(
                "boards: [(name: \"b\", width: 1, height: 1, {AT}\n kind: CutOut(Picture(file: \"bad.ron\")))],"
            )),
            vec![":5:", "board \"b\"", "bad.ron", "no readable PNG"],
        ),
        (
            lit(&format!(
                "boards: [(name: \"b\", width: 1, height: 1, {AT} kind: CutOut(Shapes(holes: [Circle(diameter: 2)])))],"
            )),
            vec!["board \"b\"", "reach over its edge", "enlarge the board"],
        ),
        // windows one in the other
        (
            lit(
                "windows: [(name: \"w\", wall: Back, width: 1, height: 1, ev: 8),\n(name: \"v\", wall: Back, width: 0.5, height: 2, ev: 8)],",
            ),
            vec![":5:", "window \"v\"", "overlaps window \"w\""],
        ),
        // a sitter through the ceiling, and through a wall
        (
            lit(
                "room: (height: 2.6), boxes: [(name: \"crate\", width: 1, height: 1.8, depth: 1)],\nsitter: (pose: SeatedOnBox, seat: \"crate\"),",
            ),
            vec![":5:9:", "sitter reaches", "through the ceiling", "lower the seat"],
        ),
    ]
}

#[test]
fn sets_that_cannot_stand() {
    let folder = tempfile::tempdir().unwrap();
    let mut amiss = Vec::new();
    for (text, mut wanted) in sets() {
        std::fs::write(folder.path().join("bad.ron"), &text).unwrap();
        // `check` judges the set: a problem among its notes, no error
        let check = foreshadow(folder.path(), &["check", "bad.ron"]);
        let notes = String::from_utf8(check.stdout).unwrap();
        if check.status.code() != Some(1)
            || !notes.contains("PROBLEM")
            || !notes.contains("the set cannot stand")
            || !check.stderr.is_empty()
        {
            amiss.push(format!("check of {text}: {}\n{notes}\n", check.status));
        }
        wanted.extend(["bad.ron:", "hint: "]);
        for arguments in [
            &["still", "bad.ron", "-o", "a.png"][..],
            &["meter", "bad.ron", "--at", "0,1,0"],
            &["export", "bad.ron", "-o", "set"],
        ] {
            amiss.extend(refused(folder.path(), arguments, &wanted));
        }
        assert!(!folder.path().join("a.png").exists());
    }
    all_well(amiss);
}

/// Pictures that memory has no room for are refused before the set is built.
#[test]
fn pictures_too_large_for_memory() {
    let folder = tempfile::tempdir().unwrap();
    let heads: String = (0..8).map(|n| format!("(name: \"head {n}\", {AT}),")).collect();
    std::fs::write(folder.path().join("heads.ron"), plan(&format!("lights: [{heads}],"))).unwrap();
    let still = ["still", "heads.ron", "-o", "a.png", "--size", "8000x6000"];
    all_well(
        refused(folder.path(), &still, &["48 megapixels", "8 lights", "12 megapixels", "--only"])
            .into_iter()
            .collect(),
    );
}

/// A file marked read-only is meant to stay; the error comes before the rendering.
#[test]
#[cfg(unix)]
fn read_only_pictures_stay() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("good.ron"), placed("")).unwrap();
    let kept = folder.path().join("kept.png");
    std::fs::write(&kept, "old").unwrap();
    std::fs::set_permissions(&kept, std::fs::Permissions::from_mode(0o444)).unwrap();
    let still = ["still", "good.ron", "-o", "kept.png"];
    all_well(refused(folder.path(), &still, &["kept.png", "read-only"]).into_iter().collect());
    assert_eq!(std::fs::read_to_string(&kept).unwrap(), "old");
}

#[test]
fn new_writes_a_plan_that_checks() {
    let folder = tempfile::tempdir().unwrap();
    let list = foreshadow(folder.path(), &["new"]);
    assert!(list.status.success());
    assert!(String::from_utf8(list.stdout).unwrap().contains("lamplighter"));
    for arguments in
        [&["new", "my.ron"][..], &["new", "my.ron", "--from", "lamplighter", "--force"]]
    {
        let made = foreshadow(folder.path(), arguments);
        assert!(made.status.success(), "{made:?}");
    }
    let check = foreshadow(folder.path(), &["check", "my.ron", "--json"]);
    assert!(check.status.success(), "{check:?}");
    let json: serde_json::Value = serde_json::from_slice(&check.stdout).unwrap();
    assert!(json["notes"].as_array().is_some_and(|notes| !notes.is_empty()), "{json}");
}

/// A good request that the system refuses is failed work, not a bad request.
#[test]
fn refused_writes_exit_with_one() {
    let folder = tempfile::tempdir().unwrap();
    let made = foreshadow(folder.path(), &["new", "/proc/my.ron"]);
    let error = String::from_utf8(made.stderr).unwrap();
    assert_eq!(made.status.code(), Some(1), "{error}");
    assert!(error.starts_with("foreshadow: /proc/my.ron: cannot write the plan"), "{error}");
}

#[test]
fn a_closed_pipe_is_no_error() {
    let mut child = Command::new(env!("CARGO_BIN_EXE_foreshadow"))
        .arg("new")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success() && output.stderr.is_empty(), "{output:?}");
}
