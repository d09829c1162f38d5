//! Stills carry how they were taken and the plan itself, and are read as plans again; whatever
//! else is in a file is refused with one error.

use std::fs;
use std::io::Cursor;
use std::path::{Path, PathBuf};
use std::process::Command;

use exif::{In, Tag, Value};
use foreshadow::plan::{self, Plan};
use foreshadow::shoot::{self, Output};
use image::{ImageDecoder, ImageReader};
use proptest::prelude::*;

use crate::set::{crate_plan, options};

const KINDS: [&str; 4] = ["png", "jpg", "tif", "exr"];

fn taken() -> Plan {
    crate_plan(
        "aperture: \"f/5.6\", shutter: \"1/160\", iso: 200, focal_mm: 85, nd: \"ND8\", \
         diffusion: \"1/8\",",
        "title: \"Führung – “links”\", note: \"first line\\nzweite Zeile: ½\", \
         development: (contrast: 1.1),",
    )
}

fn write(plan: &Plan, path: &Path) {
    let output = Output::picture(path).unwrap();
    shoot::still(plan, &options((24, 16), 1), &output, &|_| ()).unwrap();
}

/// A still of each kind in a folder of its own.
fn stills(folder: &Path) -> Vec<PathBuf> {
    KINDS
        .iter()
        .map(|kind| {
            let path = folder.join(format!("still.{kind}"));
            write(&taken(), &path);
            path
        })
        .collect()
}

#[test]
fn a_still_is_read_as_the_plan_it_was_taken_by() {
    let folder = tempfile::tempdir().unwrap();
    for path in stills(folder.path()) {
        assert_eq!(plan::read(&path).unwrap(), taken(), "{}", path.display());
    }
}

/// Read by the picture library, not by the reader that `plan` uses.
#[test]
fn stills_carry_exif() {
    let folder = tempfile::tempdir().unwrap();
    for path in stills(folder.path()) {
        let bytes = fs::read(&path).unwrap();
        let block = match path.extension().unwrap().to_str().unwrap() {
            "exr" => continue,
            "tif" => bytes,
            _ => {
                let reader = ImageReader::new(Cursor::new(&bytes)).with_guessed_format().unwrap();
                reader.into_decoder().unwrap().exif_metadata().unwrap().expect("EXIF")
            }
        };
        let read = exif::Reader::new().read_raw(block).unwrap();
        let value = |tag: Tag| &read.get_field(tag, In::PRIMARY).unwrap().value;
        let Value::Ascii(title) = value(Tag::ImageDescription) else { panic!("a title") };
        assert_eq!(title[0], taken().title.as_bytes());
        let number = |tag: Tag| match value(tag) {
            Value::Rational(ratio) => ratio[0].to_f64(),
            other => f64::from(other.get_uint(0).unwrap()),
        };
        for (tag, wanted) in [
            (Tag::FocalLength, 85.0),
            (Tag::FocalLengthIn35mmFilm, 85.0),
            (Tag::FNumber, 5.6),
            (Tag::ExposureTime, 1.0 / 160.0),
            (Tag::PhotographicSensitivity, 200.0),
            (Tag::Flash, 1.0),
            (Tag::PixelXDimension, 24.0),
        ] {
            assert!((number(tag) - wanted).abs() < 1e-9, "{tag} in {}", path.display());
        }
    }
    let exr = exr::meta::MetaData::read_from_file(folder.path().join("still.exr"), true).unwrap();
    let said = &exr.headers[0].own_attributes;
    assert_eq!((said.aperture, said.iso_speed), (Some(5.6), Some(200.0)));
    assert!((said.exposure.unwrap() * 160.0 - 1.0).abs() < 1e-6);
}

fn foreshadow(arguments: &[&str]) -> (i32, String, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_foreshadow")).args(arguments).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (output.status.code().unwrap(), text(output.stdout), text(output.stderr))
}

#[test]
fn verbs_take_a_still_for_a_plan() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let (plan_file, first, second) = (file("a.ron"), file("a.jpg"), file("b.png"));
    plan::write(&taken(), &plan_file).unwrap();
    let still = |from: &str, to: &str| {
        foreshadow(&["still", from, "-o", to, "--size", "24x16", "--samples", "1", "-q"])
    };
    assert_eq!(still(&plan_file, &first).0, 0);
    assert_eq!(
        foreshadow(&["check", &first, "--json"]).1,
        foreshadow(&["check", &plan_file, "--json"]).1
    );
    // and the plan comes out of it as a file
    let (status, _, error) = foreshadow(&["new", &file("out.ron"), "--from", &first]);
    assert_eq!(status, 0, "{error}");
    assert_eq!(plan::read(file("out.ron")).unwrap(), taken());
    // a still of a still of the plan is the plan's still
    assert_eq!(still(&first, &second).0, 0);
    assert_eq!(still(&plan_file, &file("c.png")).0, 0);
    assert!(fs::read(&second).unwrap() == fs::read(file("c.png")).unwrap());
}

#[test]
fn pictures_without_a_plan_are_refused_in_one_sentence() {
    let folder = tempfile::tempdir().unwrap();
    for kind in ["png", "jpg", "tif"] {
        let path = folder.path().join(format!("holiday.{kind}"));
        image::RgbImage::new(8, 8).save(&path).unwrap();
        let name = path.to_str().unwrap();
        let (status, out, error) = foreshadow(&["check", name]);
        assert_eq!((status, out.as_str()), (2, ""), "{error}");
        assert!(error.contains(name) && error.contains("carries no plan"), "{error}");
        assert!(error.contains("hint: name a still that this program wrote"), "{error}");
    }
    // a broken plan within a still is told as in a plan file, with line and field
    let good = folder.path().join("good.png");
    write(&taken(), &good);
    let bytes = fs::read(&good).unwrap();
    let at = bytes.windows(6).position(|word| word == b"focal_").unwrap();
    let mut bad = bytes.clone();
    bad[at] = b'v';
    let path = folder.path().join("bad.png");
    fs::write(&path, bad).unwrap();
    let (status, _, error) = foreshadow(&["check", path.to_str().unwrap()]);
    assert_eq!(status, 2, "{error}");
    assert!(error.contains("vocal_mm") && error.contains("did you mean `focal_mm`?"), "{error}");
}

/// A plan too long for a JPEG is told before any work; a PNG takes it.
#[test]
fn a_long_plan_does_not_fit_a_jpeg() {
    let mut plan = taken();
    let one = plan.lights[0].clone();
    for i in 0..60 {
        plan.boxes.push(plan.boxes[0].clone());
        plan.boxes.last_mut().unwrap().name = format!("crate {i} {}", "x".repeat(25));
        plan.lights.push(one.clone());
        let light = plan.lights.last_mut().unwrap();
        light.name = format!("light {i} {}", "y".repeat(25));
        light.modifier = plan::Modifier::Panel {
            width: plan::Length::metres(0.123_456_789_012_345),
            height: plan::Length::metres(0.543_210_987_654_321),
            loss: 1.234_567_890_123,
        };
        light.head.output = plan::Output::GuideNumber(12.345_678_901_234);
        light.head.kelvin = 5_432.109_876_543_21;
        light.gel =
            Some(plan::Gel::Color { color: "#123456".into(), transmission: 0.123_456_789_012_345 });
        light.aim = plan::Target::Point {
            x: plan::Length::metres(0.123_456_789_012_345),
            y: plan::Length::metres(0.234_567_890_123_456),
            z: plan::Length::metres(0.345_678_901_234_567),
        };
    }
    plan.note = "é".repeat(3900);
    let stage = foreshadow::stage::build(&taken()).unwrap();
    let record = foreshadow::shoot::record(&plan, &stage).unwrap();
    let told = foreshadow::picture::holds(&record, foreshadow::picture::FileFormat::Jpeg);
    let told = told.unwrap_err().to_string();
    assert!(told.contains("a JPEG holds 65") && told.contains("hint: save"), "{told}");
    let png = foreshadow::picture::FileFormat::Png8;
    assert!(foreshadow::picture::holds(&record, png).is_ok());
}

fn originals() -> &'static Vec<(&'static str, Vec<u8>)> {
    static FILES: std::sync::OnceLock<Vec<(&'static str, Vec<u8>)>> = std::sync::OnceLock::new();
    FILES.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let paths = stills(folder.path());
        KINDS.iter().zip(paths).map(|(kind, path)| (*kind, fs::read(path).unwrap())).collect()
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// Cut, overwritten and lengthened files give a plan or one error, never a panic.
    #[test]
    fn hostile_stills_never_panic(
        kind in 0usize..4,
        cut in 0.0f64..1.4,
        early in any::<bool>(),
        edits in prop::collection::vec((0.0f64..1.0, any::<u8>()), 0..12),
        word in prop::option::of((0.0f64..1.0, prop::sample::select(vec![0u32, 1, 0x7fff_ffff, 0xffff_ffff]))),
    ) {
        let (_, bytes) = &originals()[kind];
        let mut bytes = bytes.clone();
        // most of what matters to a reader is in the first kilobytes
        let reach = if early { bytes.len().min(1500) } else { bytes.len() };
        for (at, value) in edits {
            bytes[(at * reach as f64) as usize] = value;
        }
        if let Some((at, value)) = word {
            let at = (at * (reach - 4) as f64) as usize;
            bytes[at..at + 4].copy_from_slice(&value.to_le_bytes());
        }
        bytes.truncate((cut * bytes.len() as f64) as usize);
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("hostile");
        fs::write(&path, bytes).unwrap();
        if let Err(error) = plan::read(&path) {
            let told = error.to_string();
            prop_assert!(told.contains("hostile") && told.len() < 4000, "{told}");
        }
    }
}
