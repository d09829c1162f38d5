//! The verbs through the real program: files, manifests, layers that are used again, refusals.

use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;

/// A crate with three heads: quick to build and to trace.
const PLAN: &str = r#"(
    format: 1,
    title: "A crate",
    boxes: [(name: "crate", width: 0.5, height: 1.3, depth: 0.5, turn: 25.0)],
    lights: [
        (name: "key", power: -5, place: At(x: -1.2, y: 2.2, z: 1.5), aim: Named("crate")),
        (name: "fill", power: -6, place: At(x: 1.0, y: 1.5, z: 1.8), aim: Ceiling),
        (name: "rim", power: -6, place: Stand(azimuth: 120, distance: 1.5, height: 1.9), aim: Named("crate")),
    ],
    ambient: (ev: 6.0),
    camera: (place: At(x: 0.0, y: 1.5, z: 2.8), aim: Named("crate"), focus: Named("crate")),
)"#;

struct Desk {
    folder: tempfile::TempDir,
}

impl Desk {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("plan.ron"), PLAN).unwrap();
        Self { folder }
    }

    fn at(&self, name: &str) -> std::path::PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, arguments: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_foreshadow"))
            .args(arguments)
            .current_dir(self.folder.path())
            .output()
            .unwrap()
    }

    /// Runs a verb and reads its manifest.
    fn manifest(&self, arguments: &[&str]) -> Value {
        let output = self.run(&[arguments, &["--json", "--date", "2026-03-01"]].concat());
        let error = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{arguments:?}: {error}");
        serde_json::from_slice(&output.stdout).expect("the manifest is JSON")
    }

    fn refused(&self, arguments: &[&str], says: &str) {
        let output = self.run(arguments);
        let error = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {error}");
        assert!(error.contains(says) && error.contains("hint:"), "{arguments:?}: {error}");
        assert_eq!(error.matches("foreshadow:").count(), 1, "{error}");
    }
}

/// Hands a PDF to an independent checker.
fn checked(path: &Path) {
    let output = Command::new("qpdf").arg("--check").arg(path).output().unwrap_or_else(|error| {
        panic!("qpdf checks the PDFs and cannot be run ({error}); install it (Debian: qpdf)")
    });
    let told = String::from_utf8_lossy(&output.stdout) + String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{}: {told}", path.display());
    assert!(told.contains("No syntax or stream encoding errors"), "{told}");
}

/// Quick and coarse.
const QUICK: [&str; 4] = ["--size", "48x72", "--samples", "4"];

#[test]
fn every_pdf_passes_the_checker() {
    let desk = Desk::new();
    let verbs: [&[&str]; 4] = [
        &["series", "plan.ron", "-o", "series.pdf"],
        &["sweep", "plan.ron", "--vary", "rim.power=-8..-4", "--frames", "3", "-o", "sweep.pdf"],
        &["board", "plan.ron", "-o", "board.pdf", "--paper", "a3"],
        &["sheet", "plan.ron", "-o", "sheet.pdf", "--units", "ft", "--paper", "letter"],
    ];
    for verb in verbs {
        let quick: &[&str] = if verb[0] == "sheet" { &[] } else { &QUICK };
        let manifest = desk.manifest(&[verb, quick].concat());
        let pages = manifest["pages"].as_array().unwrap();
        assert_eq!(pages.len(), 1, "{manifest}");
        checked(&desk.at(pages[0].as_str().unwrap()));
    }
    // the checker itself finds a broken file
    let mut broken = std::fs::read(desk.at("sheet.pdf")).unwrap();
    broken.truncate(broken.len() / 2);
    std::fs::write(desk.at("broken.pdf"), broken).unwrap();
    let output = Command::new("qpdf").arg("--check").arg(desk.at("broken.pdf")).output().unwrap();
    assert!(!output.status.success(), "qpdf passes half a file");
}

/// Weakest first, each light's own reading, sums that add as light does, a file a frame.
#[test]
fn a_series_adds_lights_in_order_of_strength() {
    let desk = Desk::new();
    let verb = ["series", "plan.ron", "-o", "frames"];
    let manifest = desk.manifest(&[&verb[..], &QUICK[..]].concat());
    let frames = manifest["frames"].as_array().unwrap();
    assert_eq!(frames.len(), 5, "ambient, three lights, all");
    let on = |k: usize| frames[k]["on"].as_array().unwrap();
    assert_eq!(frames[0]["name"], "ambient alone");
    assert_eq!((on(1).len(), on(2).len(), on(3).len(), on(4).len()), (1, 2, 3, 4));
    let squared = |light: &Value| light["f_number"].as_f64().map_or(0.0, |n| n * n);
    let newest: Vec<f64> = (1..4).map(|k| squared(on(k).last().unwrap())).collect();
    assert!(newest[0] <= newest[1] && newest[1] <= newest[2], "{newest:?} not weakest first");
    for k in 1..5 {
        let sum: f64 = on(k).iter().map(squared).sum();
        let together = squared(&frames[k]);
        assert!((together / sum - 1.0).abs() < 1e-6, "frame {k}: {together} is not {sum}");
        if k > 1 {
            let change = frames[k]["change_stops"].as_f64().unwrap();
            let wanted = (together / squared(&frames[k - 1])).log2();
            assert!((change - wanted).abs() < 1e-6, "frame {k}");
        }
    }
    for frame in frames {
        let file = frame["file"].as_str().unwrap();
        let picture = image::open(desk.at(file)).unwrap();
        assert_eq!((picture.width(), picture.height()), (48, 72), "{file}");
    }
    checked(&desk.at("frames/page.pdf"));
}

fn sweep(desk: &Desk, more: &[&str]) -> Value {
    desk.manifest(&[&["sweep", "plan.ron"], more, &QUICK[..]].concat())
}

fn traced(manifest: &Value) -> Vec<usize> {
    let frames = manifest["frames"].as_array().unwrap().iter();
    frames.map(|frame| frame["traced"].as_array().unwrap().len()).collect()
}

#[test]
fn a_sweep_traces_only_what_changes() {
    let desk = Desk::new();
    for (vary, layers) in [
        ("rim.power=-8..-4", [4, 0, 0]),
        ("camera.iso=100..400", [4, 0, 0]),
        ("camera.shutter=1/60..1/200", [4, 0, 0]),
        ("ambient.ev=4..8", [4, 0, 0]),
        ("rim.azimuth=100..140", [4, 1, 1]),
        ("camera.aperture=f/4..f/16", [4, 4, 4]),
        ("room.walls.reflectance=0.2..0.6", [4, 4, 4]),
    ] {
        let manifest = sweep(&desk, &["--vary", vary, "--frames", "3", "-o", "a.pdf"]);
        assert_eq!(traced(&manifest), layers, "{vary}");
    }
    let grid = ["--light", "rim", "--vary", "azimuth=100..140", "--vary", "fill.power=-7..-5"];
    let manifest = sweep(&desk, &[&grid[..], &["--frames", "2x2", "-o", "a.pdf"]].concat());
    assert_eq!(traced(&manifest), [4, 1, 0, 0], "the second row has all its layers");
    let change = manifest["frames"][2]["change_stops"].as_f64().unwrap();
    assert!(change > 0.0, "two stops more fill: {change}");
}

/// A frame from kept layers is the frame rendered for itself, but for noise and the moved head's
/// own shadow.
#[test]
fn a_kept_layer_is_as_good_as_a_new_one() {
    let desk = Desk::new();
    let quality = ["--size", "48x72", "--samples", "64"];
    let vary = ["--vary", "rim.azimuth=100..140", "--frames", "2", "-o", "frames"];
    desk.manifest(&[&["sweep", "plan.ron"], &vary[..], &quality[..]].concat());
    let alone = PLAN.replace("azimuth: 120", "azimuth: 140");
    std::fs::write(desk.at("alone.ron"), alone).unwrap();
    let output = desk.run(&[&["still", "alone.ron", "-o", "alone.png"], &quality[..]].concat());
    assert!(output.status.success());
    let level = |name: &str| -> f64 {
        let picture = image::open(desk.at(name)).unwrap().to_rgb8();
        let decode = |v: u8| foreshadow::optics::color::srgb_decode(f32::from(v) / 255.0);
        picture.as_raw().iter().map(|v| f64::from(decode(*v))).sum()
    };
    let stops = (level("frames/02.png") / level("alone.png")).log2();
    assert!(stops.abs() < 0.02, "{stops} stops between kept and new");
    let moved = (level("frames/02.png") / level("frames/01.png")).log2();
    assert!(moved.abs() > 0.02, "the rim does nothing: {moved}");
}

#[test]
fn level_holds_the_reading() {
    let desk = Desk::new();
    let vary = ["--vary", "key.power=-6..-4", "--frames", "2", "-o", "frames", "--level"];
    let manifest = sweep(&desk, &vary);
    let frame = &manifest["frames"][1];
    let (change, corrected) =
        (frame["change_stops"].as_f64().unwrap(), frame["corrected_stops"].as_f64().unwrap());
    assert!(change > 1.0 && (change + corrected).abs() < 1e-9, "{change} and {corrected}");
}

#[test]
fn a_board_takes_plans_and_pictures() {
    let desk = Desk::new();
    let red = image::RgbImage::from_pixel(60, 40, image::Rgb([200, 30, 20]));
    red.save(desk.at("red & more.png")).unwrap();
    let verb = ["board", "plan.ron", "red & more.png", "-o", "board.png", "--paper", "screen"];
    let manifest = desk.manifest(&[&verb[..], &QUICK[..]].concat());
    let page = image::open(desk.at("board.png")).unwrap();
    assert_eq!((page.width(), page.height()), (1920, 1080));
    let stills = manifest["stills"].as_array().unwrap();
    assert_eq!(stills[1]["caption"], "red & more");
    assert_eq!(stills[1]["palette"][0]["color"], "#c81e14");
    assert_eq!(stills[1]["palette"].as_array().unwrap().len(), 1);
    let shares = manifest["palette"].as_array().unwrap().iter();
    let sum: f64 = shares.map(|color| color["share"].as_f64().unwrap()).sum();
    assert!((sum - 1.0).abs() < 1e-3, "{sum}");
}

/// SVG and PNG come a file a page, and the SVG carries what it needs.
#[test]
fn pages_as_svg_and_png() {
    let desk = Desk::new();
    for name in ["sheet.svg", "sheet.png"] {
        let manifest = desk.manifest(&["sheet", "plan.ron", "-o", name]);
        let pages = manifest["pages"].as_array().unwrap();
        assert_eq!(pages.len(), 2);
        let second = name.replace("sheet.", "sheet-2.");
        assert_eq!(pages[1].as_str(), Some(second.as_str()));
        assert!(desk.at(&second).is_file());
    }
    let svg = std::fs::read_to_string(desk.at("sheet.svg")).unwrap();
    assert!(svg.contains("@font-face") && svg.contains("width=\"297mm\""));
    let page = image::open(desk.at("sheet.png")).unwrap();
    // A4 at 200 pixels an inch
    assert_eq!((page.width(), page.height()), (2339, 1654));
    let output = desk.run(&["sheet", "plan.ron", "-o", "-"]);
    assert!(output.stdout.starts_with(b"%PDF-1."));
}

#[test]
fn what_cannot_be_meant_is_refused() {
    let desk = Desk::new();
    std::fs::write(desk.at("no.png"), b"not a picture").unwrap();
    for (arguments, says) in [
        (&["series", "plan.ron", "-o", "a.gif"][..], "no kind of page"),
        (&["series", "plan.ron", "-o", "none/a.pdf"], "no folder"),
        (&["series", "plan.ron", "-o", "a.pdf", "--only", "kye"], "kye"),
        (&["sheet", "plan.ron", "-o", "."], "folder"),
        (&["sheet", "plan.ron", "-o", "-", "--json"], "standard output"),
        (&["sweep", "plan.ron", "--vary", "azimuth=1..2", "-o", "a.pdf"], "azimuth"),
        (&["sweep", "plan.ron", "--light", "rmi", "--vary", "azimuth=1..2", "-o", "a.pdf"], "rmi"),
        (&["sweep", "plan.ron", "--vary", "rim.azimuth", "-o", "a.pdf"], "no ="),
        (&["sweep", "plan.ron", "--vary", "rim.azimuth=1..nan", "-o", "a.pdf"], "no number"),
        (
            &["sweep", "plan.ron", "--vary", "rim.azimuth=1..2", "--frames", "0", "-o", "a.pdf"],
            "--frames",
        ),
        (
            &["sweep", "plan.ron", "--vary", "rim.azimuth=1..2", "--frames", "999", "-o", "a.pdf"],
            "--frames",
        ),
        (
            &["sweep", "plan.ron", "--vary", "room.walls.reflectance=0..3", "-o", "a.pdf"],
            "reflectance",
        ),
        (
            &[
                "sweep",
                "plan.ron",
                "--vary",
                "rim.distance=1..90",
                "-o",
                "a.pdf",
                "--size",
                "32x32",
                "--samples",
                "1",
            ],
            "beyond the right wall",
        ),
        (&["board", "no.png", "-o", "a.pdf"], "no picture"),
        (&["board", "gone.png", "-o", "a.pdf"], "no such picture"),
    ] {
        desk.refused(arguments, says);
        assert!(!desk.at("a.pdf").exists(), "{arguments:?} left a file");
    }
}
