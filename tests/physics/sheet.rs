//! The contact sheet of all modifiers: one sitter, one creased cloth, the same reading at the face.
//! Not a test: `cargo test --release --test physics -- --ignored contact_sheet` renders it anew
//! into `tests/sheets/modifiers.jpg`.

use foreshadow::meter;
use foreshadow::optics::color::luminance_f64;
use foreshadow::optics::exposure::Exposure;
use foreshadow::picture::{Mix, Picture, Tone, develop};
use foreshadow::plan;
use foreshadow::stage::{self, Role, Stage};
use foreshadow::trace::{Options, Receptor, Tracer};
use glam::Vec3;
use image::{Rgb, RgbImage};

const SIZE: [u32; 2] = [150, 200];
const COLUMNS: u32 = 6;
const CAPTION: u32 = 14;

/// Caption and fields of each light.
const LIGHTS: [(&str, &str); 24] = [
    ("BARE TUBE", "modifier: BareTube()"),
    ("LANTERN", "modifier: Lantern()"),
    ("SHORT DISH", "modifier: ShortDish()"),
    ("DISH", "modifier: Dish()"),
    ("DISH SHOWING ITS TUBE", "modifier: Dish(), head: (tube: (share: 0.4))"),
    ("LONG THROW", "modifier: LongThrow()"),
    ("DISH AND 20 GRID", "modifier: Dish(), grid: 20"),
    ("DISH AND 10 GRID", "modifier: Dish(), grid: 10"),
    ("BARN DOORS", "modifier: Dish(), doors: (top: 20, bottom: 0, left: 8, right: 8)"),
    ("DISH AND CLOTH", "modifier: Dish(), cloth: ()"),
    ("SNOOT", "modifier: Snoot()"),
    ("LENS SPOT", "modifier: LensSpot(beam: 22, focus: 2.7, shutters: (left: 0.2, bottom: 0.15))"),
    ("BEAUTY DISH", "modifier: BeautyDish()"),
    ("BEAUTY DISH AND GRID", "modifier: BeautyDish(), grid: 30"),
    ("RING AT THE LENS", "modifier: Ring(), place: At(x: 0, y: 1.5, z: 2.6), fixture: false"),
    ("SOFT BOX 60X90", "modifier: SoftBox()"),
    ("STRIP 30X140", "modifier: SoftBox(width: 0.3, height: 1.4)"),
    ("STRIP AND EGG CRATE", "modifier: SoftBox(width: 0.3, height: 1.4, recess: 0.06), grid: 35"),
    ("OCTAGON 120", "modifier: Octagon()"),
    ("BOUNCE UMBRELLA", "modifier: BounceUmbrella()"),
    ("SHOOT THROUGH", "modifier: ShootThrough()"),
    ("SCRIM 120X180", "modifier: Scrim()"),
    ("DISH THROUGH LEAVES", "modifier: LongThrow()"),
    ("DISH AND SILVER BOARD", "modifier: Dish()"),
];

fn board(caption: &str) -> &'static str {
    match caption {
        "DISH THROUGH LEAVES" => {
            "(name: \"branch\", kind: CutOut(Leaves(seed: 7, count: 60)), width: 0.9, height: 0.9, \
             place: Around(azimuth: -50, elevation: 26, distance: 0.9, of: FACE), aim: FACE)"
        }
        "DISH AND SILVER BOARD" => {
            "(name: \"silver\", kind: Silver, width: 0.8, height: 1.2, \
             place: Stand(azimuth: 65, distance: 0.9, height: 1.3), aim: FACE)"
        }
        _ => "",
    }
}

const ROOM: &str = "room: (width: 6, depth: 6, height: 3.4, walls: (reflectance: 0.2))";

/// Sitter and cloth, which are the same in every cell.
fn set() -> Stage {
    let text = format!(
        "(format: 1, {ROOM}, ambient: (ev: 0), \
         cloths: [(name: \"linen\", fabric: (paint: (reflectance: 0.4, color: \"#c9bca8\")), \
         shape: Backdrop(width: 2.7, top: 2.7, behind: 0.75, sweep: 1), creases: 0.8)], \
         sitter: (skin: 4, turn: -12, head: (turn: -8), hair: (style: Bun), garment: (cut: Tunic, \
         fabric: (paint: (reflectance: 0.3, color: \"#6f7f86\")))), \
         camera: (focal_mm: 90, aperture: \"f/8\", white_balance: 5600, \
         place: Stand(azimuth: 0, distance: 2.9, height: 1.5), aim: Point(x: -0.05, y: 1.45, z: 0)))"
    );
    built(&text)
}

fn built(text: &str) -> Stage {
    let plan = plan::parse(text, "sheet").unwrap_or_else(|error| panic!("{error}"));
    stage::build(&plan).unwrap_or_else(|error| panic!("{error}"))
}

/// The set with one light and its boards.
fn cell(set: &Stage, caption: &str, fields: &str) -> RgbImage {
    let face = set.marks.iter().find(|mark| mark.name == "face").unwrap().position;
    let aim = format!("Point(x: {}, y: {}, z: {})", face.x, face.y, face.z);
    let place = if fields.contains("place:") {
        String::new()
    } else {
        format!(", place: Around(azimuth: -50, elevation: 26, distance: 1.7, of: {aim})")
    };
    let boards = board(caption).replace("FACE", &aim);
    let lit = built(&format!(
        "(format: 1, {ROOM}, lights: [(name: \"key\", {fields}{place}, aim: {aim})], boards: [{boards}])"
    ));
    let mut stage = set.clone();
    stage.lights = lit.lights;
    let stands = lit.meshes.into_iter().filter(|m| matches!(m.role, Role::Fixture | Role::Board));
    stage.meshes.extend(stands);
    stage.camera = stage.camera.cropped_to(f64::from(SIZE[0]) / f64::from(SIZE[1]));
    let tracer = Tracer::new(&stage, |_| true);
    let (at, _) = meter::held_at(&stage, "face");
    // toward the light, as a key is metered; one reading for all
    let toward = (stage.lights[0].source.position - at).normalize();
    let got = tracer.meter(at, toward, Receptor::Dome, 6, 1)[0];
    let level = luminance_f64(got.direct + got.bounced);
    // f/8 at ISO 100 and C = 250 is 160 lx·s
    let gain = Vec3::splat((160.0 / level) as f32);
    let options = Options {
        width: SIZE[0],
        height: SIZE[1],
        max_samples: 40,
        within_stops: None,
        seed: 1,
        mix: vec![gain],
        time_limit: None,
    };
    let layers = tracer.render(&options, &mut |_| true);
    let exposure = Exposure { iso: 100.0, f_number: 8.0, shutter_s: 0.008 };
    let picture: Picture = Mix::new(exposure).with("key", gain).apply(&layers).unwrap();
    let developed = develop(&picture, Tone::Neutral);
    let mut out = RgbImage::new(SIZE[0], SIZE[1] + CAPTION);
    for (pixel, value) in out.pixels_mut().zip(&developed.pixels) {
        *pixel = Rgb(value.to_array().map(|v| (v.clamp(0.0, 1.0) * 255.0).round() as u8));
    }
    letters(&mut out, caption);
    eprintln!("{caption}: {:.0} lx·s at full power", level);
    out
}

/// Rows of a letter, five dots each.
fn dots(letter: char) -> [u8; 7] {
    match letter {
        'A' => [14, 17, 17, 31, 17, 17, 17],
        'B' => [30, 17, 17, 30, 17, 17, 30],
        'C' => [14, 17, 16, 16, 16, 17, 14],
        'D' => [30, 17, 17, 17, 17, 17, 30],
        'E' => [31, 16, 16, 30, 16, 16, 31],
        'F' => [31, 16, 16, 30, 16, 16, 16],
        'G' => [14, 17, 16, 23, 17, 17, 15],
        'H' => [17, 17, 17, 31, 17, 17, 17],
        'I' => [14, 4, 4, 4, 4, 4, 14],
        'L' => [16, 16, 16, 16, 16, 16, 31],
        'M' => [17, 27, 21, 21, 17, 17, 17],
        'N' => [17, 25, 21, 19, 17, 17, 17],
        'O' => [14, 17, 17, 17, 17, 17, 14],
        'P' => [30, 17, 17, 30, 16, 16, 16],
        'R' => [30, 17, 17, 30, 20, 18, 17],
        'S' => [15, 16, 16, 14, 1, 1, 30],
        'T' => [31, 4, 4, 4, 4, 4, 4],
        'U' => [17, 17, 17, 17, 17, 17, 14],
        'V' => [17, 17, 17, 17, 17, 10, 4],
        'W' => [17, 17, 17, 21, 21, 27, 17],
        'X' => [17, 17, 10, 4, 10, 17, 17],
        'Y' => [17, 17, 10, 4, 4, 4, 4],
        '0' => [14, 17, 19, 21, 25, 17, 14],
        '1' => [4, 12, 4, 4, 4, 4, 14],
        '2' => [14, 17, 1, 6, 8, 16, 31],
        '3' => [30, 1, 1, 14, 1, 1, 30],
        '4' => [2, 6, 10, 18, 31, 2, 2],
        '6' => [14, 16, 16, 30, 17, 17, 14],
        '8' => [14, 17, 17, 14, 17, 17, 14],
        '9' => [14, 17, 17, 15, 1, 1, 14],
        _ => [0; 7],
    }
}

fn letters(out: &mut RgbImage, caption: &str) {
    for (k, letter) in caption.chars().enumerate() {
        for (row, line) in dots(letter).into_iter().enumerate() {
            for column in 0..5u32 {
                let (x, y) = (4 + 6 * k as u32 + column, SIZE[1] + 4 + row as u32);
                if line >> (4 - column) & 1 == 1 && x < SIZE[0] {
                    out.put_pixel(x, y, Rgb([225; 3]));
                }
            }
        }
    }
}

#[test]
#[ignore = "renders the contact sheet for the documents; minutes on two cores"]
fn contact_sheet() {
    let (width, height) = (SIZE[0] + 4, SIZE[1] + CAPTION + 4);
    let set = set();
    let rows = (LIGHTS.len() as u32).div_ceil(COLUMNS);
    let mut sheet = RgbImage::from_pixel(COLUMNS * width, rows * height, Rgb([20; 3]));
    for (number, (caption, fields)) in LIGHTS.into_iter().enumerate() {
        let (column, row) = (number as u32 % COLUMNS, number as u32 / COLUMNS);
        let picture = cell(&set, caption, fields);
        image::imageops::replace(
            &mut sheet,
            &picture,
            i64::from(column * width + 2),
            i64::from(row * height + 2),
        );
    }
    let path = "tests/sheets/modifiers.jpg";
    std::fs::create_dir_all("tests/sheets").unwrap();
    let file = std::io::BufWriter::new(std::fs::File::create(path).unwrap());
    let encoder = image::codecs::jpeg::JpegEncoder::new_with_quality(file, 82);
    sheet.write_with_encoder(encoder).unwrap();
}
