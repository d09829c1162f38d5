//! The set-up sheet that an assistant builds from: drawings to scale, tables, cautions.
//!
//! In: a [`SetUp`] and the [`Stage`] it was taken from. Out: a page of drawings, and as many pages
//! of tables as the set needs.

pub mod flow;
pub mod label;
mod outline;
pub mod record;
pub mod units;
mod view;

use glam::DVec2;

use crate::papers::page::{Bounds, Page, Paper};
use crate::stage::Stage;
use flow::{Cell, Flow};
use record::{Aim, SetUp, Spot};
use view::{View, degrees};

pub use units::Units;

/// Share of the drawing page's width that the plan takes.
const PLAN_SHARE: f64 = 0.55;

/// The pages.
pub fn pages(setup: &SetUp, stage: &Stage, paper: Paper) -> Vec<Page> {
    let mut pages = drawings(setup, stage, paper);
    let drawn = pages.len();
    let start = |number: usize| {
        let part = if number == 0 { "lights, tests, gear" } else { "continued" };
        blank(setup, paper, part, drawn + number + 1)
    };
    let mut flow = Flow::new(&start);
    lights(&mut flow, setup);
    flow.columns(3);
    tapes(&mut flow, setup);
    tests(&mut flow, setup);
    set(&mut flow, setup);
    flow.next_column();
    pack(&mut flow, setup);
    flow.next_column();
    cautions(&mut flow, setup);
    pages.extend(flow.finish());
    pages
}

/// A page with its head, and where its text may run.
fn blank(setup: &SetUp, paper: Paper, part: &str, number: usize) -> (Page, Bounds) {
    let mut page = Page::new(paper.size_mm());
    let margin = paper.margin_mm();
    let title = format!("{}: {part}", setup.title);
    let top = flow::head(&mut page, margin, &title, &aside(setup, number), "");
    let area = Bounds {
        min: DVec2::new(margin, top),
        max: DVec2::new(page.width_mm - margin, page.height_mm - margin),
    };
    (page, area)
}

/// Job, day and page number.
fn aside(setup: &SetUp, number: usize) -> String {
    let job = if setup.job.is_empty() { String::new() } else { format!("{}   ", setup.job) };
    format!("{job}{}   page {number}", setup.date)
}

/// The page of drawings, with the camera's block; a second one where that is too long.
fn drawings(setup: &SetUp, stage: &Stage, paper: Paper) -> Vec<Page> {
    let margin = paper.margin_mm();
    let mut page = Page::new(paper.size_mm());
    let note = setup.note.replace('\n', " ");
    let title = format!("{}: set-up", setup.title);
    let top = flow::head(&mut page, margin, &title, &aside(setup, 1), &note);
    let width = page.width_mm - 2.0 * margin;
    let high = page.height_mm - margin - top;
    let gap = 7.0;
    let plan = Bounds::new(margin, top, PLAN_SHARE * width - gap, high);
    view::draw(&mut page, View::Plan, setup, stage, plan);
    let right = margin + PLAN_SHARE * width;
    let side = Bounds::new(right, top, (1.0 - PLAN_SHARE) * width, 0.55 * high);
    let below = view::draw(&mut page, View::Side, setup, stage, side);
    let area = Bounds {
        min: DVec2::new(right, below + 3.0),
        max: DVec2::new(page.width_mm - margin, page.height_mm - margin),
    };
    let place = |number: usize| match number {
        0 => (page.clone(), area),
        _ => blank(setup, paper, "set-up, continued", number + 1),
    };
    let mut flow = Flow::new(&place);
    flow.heading("Camera", 20.0);
    camera(&mut flow, setup);
    flow.heading("Room and sitter", 10.0);
    room(&mut flow, setup);
    flow.finish()
}

const TERM: f64 = 0.2;

fn camera(flow: &mut Flow<'_>, setup: &SetUp) {
    let (camera, units) = (&setup.camera, setup.units);
    let format = format!(
        "{:.0} × {:.0} mm held {}, {} mm lens",
        camera.format_mm[0],
        camera.format_mm[1],
        if camera.upright { "upright" } else { "level" },
        camera.focal_mm
    );
    flow.term("Body and lens", &format, TERM);
    let setting = format!(
        "{}, ISO {:.0}, {:.0} K (sync 1/{:.0} s)",
        camera.words,
        camera.iso,
        camera.white_balance_k,
        1.0 / camera.sync_s
    );
    flow.term("Setting", &setting, TERM);
    let stands = format!(
        "{}; lens {} high; tapes A {}, B {}",
        place(&camera.spot, setup),
        units.length(camera.spot.height_m),
        units.length(camera.spot.tapes_m[0]),
        units.length(camera.spot.tapes_m[1])
    );
    flow.term("Stands", &stands, TERM);
    flow.term(
        "Looks at",
        &format!("{}, tilt {}", camera.aim.at, degrees(camera.aim.tilt_deg)),
        TERM,
    );
    let far = camera.sharp_m[1].map_or("far".into(), |far| units.length(far));
    let near = camera.sharp_m[0].map_or(String::new(), |near| units.length(near));
    let focus = format!(
        "{} at {}; sharp from {near} to {far}; frame there {} × {}",
        camera.focus_on,
        units.length(camera.focus_m),
        units.length(camera.frame_m[0]),
        units.length(camera.frame_m[1])
    );
    flow.term("Focus", &focus, TERM);
}

fn room(flow: &mut Flow<'_>, setup: &SetUp) {
    let (room, units) = (&setup.room, setup.units);
    let walls = format!(
        "{} wide, {} deep, {} high; mark {} from the left wall, {} from the back wall",
        units.length(room.left_m + room.right_m),
        units.length(room.back_m + room.front_m),
        units.length(room.height_m),
        units.length(room.left_m),
        units.length(room.back_m)
    );
    flow.term("Room", &walls, TERM);
    if let Some(ambient) = &setup.ambient {
        let words = format!(
            "EV {} at ISO 100, {:.0} K: the room alone reads {}",
            ambient.ev,
            ambient.kelvin,
            ambient.f_number.map_or("–".into(), |n| format!("f/{n:.1}"))
        );
        flow.term("Room light", &words, TERM);
    }
    if let Some(sitter) = &setup.sitter {
        let words = format!(
            "{}; body turned {}, head {} more; face {} high",
            sitter.words,
            sideways(sitter.turn_deg),
            sideways(sitter.head_turn_deg),
            units.length(sitter.face_height_m)
        );
        flow.term("Sitter", &words, TERM);
    }
}

/// `42° camera left`.
fn sideways(degrees: f64) -> String {
    let size = degrees.abs().round();
    match size {
        0.0 => "0°".into(),
        180.0 => "180°".into(),
        _ => format!("{size:.0}° camera {}", if degrees < 0.0 { "left" } else { "right" }),
    }
}

/// Where something stands, round the mark.
fn place(spot: &Spot, setup: &SetUp) -> String {
    if spot.floor_distance_m < 0.02 {
        return "over the mark".into();
    }
    let behind = if spot.azimuth_deg.abs() > 100.0 { ", behind" } else { "" };
    let azimuth = match spot.azimuth_deg.abs().round() {
        0.0 => "on the camera's side (0°)".to_owned(),
        180.0 => "straight behind (180°)".to_owned(),
        _ => sideways(spot.azimuth_deg) + behind,
    };
    format!("{} from the mark, {azimuth}", setup.units.length(spot.floor_distance_m))
}

/// What it points at and how far that is, and the tilt.
fn aim(aim: &Aim, setup: &SetUp) -> [String; 2] {
    let at = match aim.distance_m {
        Some(distance) => format!("{}, {} off", aim.at, setup.units.length(distance)),
        None => aim.at.clone(),
    };
    let tilt = degrees(aim.tilt_deg);
    // straight up or down has no azimuth
    let toward = if aim.tilt_deg.abs() > 85.0 {
        String::new()
    } else {
        format!(", toward {}", degrees(aim.azimuth_deg))
    };
    [at, format!("tilt {tilt}{toward}")]
}

/// How something is held.
fn held(support: &str) -> &'static str {
    match support {
        "boom" => "on a boom",
        "ceiling" => "hung from the ceiling",
        _ => "on a stand",
    }
}

fn lights(flow: &mut Flow<'_>, setup: &SetUp) {
    let units = setup.units;
    let rows: Vec<Vec<Cell>> = setup
        .lights
        .iter()
        .map(|light| {
            let [at, tilt] = aim(&light.aim, setup);
            let role = if light.on { light.role.clone() } else { format!("{}, off", light.role) };
            let gel = light.gel.clone().unwrap_or_default();
            let energy = format!("{:.0} of {:.0} W·s", light.energy_ws, light.full_energy_ws);
            vec![
                Cell::new([&light.number.to_string()]).bold(),
                Cell::new([&light.name, &role]).bold(),
                Cell::new([&place(&light.spot, setup), held(&light.support)]),
                Cell::new([&units.length(light.spot.height_m)]).bold(),
                Cell::new([
                    &format!("A {}", units.length(light.spot.tapes_m[0])),
                    &format!("B {}", units.length(light.spot.tapes_m[1])),
                ]),
                Cell::new([&at, &tilt]),
                Cell::new([
                    &units.length(light.face_distance_m),
                    &format!("{} over it", degrees(light.face_elevation_deg)),
                ]),
                Cell::new([&light.modifier, &gel]),
                Cell::new([&light.power, &energy]).bold(),
                Cell::new([&light.alone]),
            ]
        })
        .collect();
    flow.heading("Lights", 20.0);
    flow.table(
        &[
            "",
            "Light",
            "Front stands over",
            "Front high",
            "Tapes to there",
            "Points at",
            "From the face",
            "Modifier, gel",
            "Power",
            "Alone at the face",
        ],
        &[4.0, 21.0, 43.0, 16.0, 20.0, 38.0, 22.0, 42.0, 34.0, 30.0],
        &rows,
    );
    flow.paragraph(
        "Every place is that of the middle of the light's front; hang a plumb line from it. Azimuths run round the \
         mark, tilt is above (+) or under (−) the horizontal. Readings: incident, dome at the face toward the camera, \
         every other light off.",
    );
}

fn tapes(flow: &mut Flow<'_>, setup: &SetUp) {
    flow.heading("Tape points", 16.0);
    let [a, b] = &setup.tape;
    for point in [a, b] {
        flow.term(&point.name, &point.place, 0.08);
    }
    let apart = (a.x_m - b.x_m).hypot(a.z_m - b.z_m);
    flow.paragraph(&format!(
        "A to B {}. Run a tape from each along the floor; where both lengths meet is the point under the front. \
         The plan shows on which side of the line from A to B it lies.",
        setup.units.length(apart)
    ));
}

fn tests(flow: &mut Flow<'_>, setup: &SetUp) {
    if setup.tests.is_empty() {
        return;
    }
    flow.heading("Test frames, in order", 16.0);
    let rows: Vec<Vec<Cell>> = setup
        .tests
        .iter()
        .enumerate()
        .map(|(number, test)| {
            vec![
                Cell::new([&(number + 1).to_string()]),
                Cell::new([&test.name]).bold(),
                Cell::new([&test.words]),
                Cell::new([&test.change_words]),
                Cell::new([""]),
            ]
        })
        .collect();
    flow.table(
        &["", "On", "Face should read", "Change", "Reads"],
        &[4.0, 36.0, 24.0, 14.0, 14.0],
        &rows,
    );
    if setup.ambient.is_none() {
        flow.paragraph("First shoot a frame with all heads off: it must be black.");
    }
}

fn set(flow: &mut Flow<'_>, setup: &SetUp) {
    let units = setup.units;
    if setup.cloths.is_empty() && setup.boxes.is_empty() && setup.boards.is_empty() {
        return;
    }
    flow.heading("Set", 12.0);
    for thing in setup.cloths.iter().chain(&setup.boxes) {
        flow.term(&thing.name, &thing.words, 0.24);
    }
    for board in &setup.boards {
        let [at, tilt] = aim(&board.aim, setup);
        let words = format!(
            "{}: middle {} high, {}; tapes A {}, B {}; faces {at}; {tilt}",
            board.words,
            units.length(board.spot.height_m),
            place(&board.spot, setup),
            units.length(board.spot.tapes_m[0]),
            units.length(board.spot.tapes_m[1])
        );
        flow.term(&board.name, &words, 0.24);
    }
}

fn pack(flow: &mut Flow<'_>, setup: &SetUp) {
    flow.heading("Gear to pack", 12.0);
    for item in &setup.pack {
        flow.item(&format!("{} × {}", item.count, item.what));
    }
}

fn cautions(flow: &mut Flow<'_>, setup: &SetUp) {
    if setup.cautions.is_empty() {
        return;
    }
    flow.heading("Cautions", 12.0);
    for caution in &setup.cautions {
        flow.paragraph(&format!(
            "{}, {}: {}",
            caution.severity.to_uppercase(),
            caution.subject,
            caution.words
        ));
    }
}
