//! The test frames of the day: ambient alone, the weakest light alone, then the others added in
//! order of strength at the face, then all.
//!
//! The layers are rendered once; every frame is a mix of them.

use std::path::PathBuf;

use serde::Serialize;

use super::face::{self, AtUnit, Reading};
use super::place::{self, PaperPlace};
use super::{frame, reads, setting, signed, title};
use crate::papers::Paper;
use crate::papers::contact::{self, Contact};
use crate::picture::{FileFormat, encode};
use crate::plan::{Plan, Power};
use crate::shoot::options::{Progress, StillOptions};
use crate::shoot::{ShootError, read_meter, still, take};
use crate::stage;
use crate::trace::Tracer;

/// Long side of a frame where no size is asked for: sharp at its place on a page.
const LONG_SIDE: f64 = 480.0;

/// A series.
#[derive(Debug, Clone, PartialEq)]
pub struct SeriesOptions {
    /// Size, quality and seed of the frames.
    pub still: StillOptions,
    /// The page.
    pub paper: Paper,
    /// For the page's head.
    pub date: String,
}

/// What a series holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeriesManifest {
    /// The plan's title.
    pub title: String,
    /// Where the readings are taken.
    pub read_at: &'static str,
    /// The camera's ISO.
    pub iso: f64,
    /// The camera's shutter time.
    pub shutter_s: f64,
    /// The camera's f-number.
    pub aperture: f64,
    /// In shooting order.
    pub frames: Vec<SeriesFrame>,
    /// The page, a file each.
    pub pages: Vec<PathBuf>,
}

/// A test frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeriesFrame {
    /// What it is: `ambient alone`, `fill alone`, `+ rim`, `all`.
    pub name: String,
    /// The lights that are on.
    pub on: Vec<SeriesLight>,
    /// What a meter at the face reads, dome toward the camera.
    pub f_number: Option<f64>,
    /// Stops over the camera's aperture.
    pub stops_vs_camera: Option<f64>,
    /// Stops from the frame before.
    pub change_stops: Option<f64>,
    /// The still, where single files were asked for.
    pub file: Option<PathBuf>,
}

/// A light of a test frame.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeriesLight {
    /// Its name.
    pub name: String,
    /// Stops below full; null for the room.
    pub power_stops: Option<f64>,
    /// What a meter at the face reads of it alone.
    pub f_number: Option<f64>,
}

/// A frame before it is rendered.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Test {
    /// What it is.
    pub(super) name: String,
    /// Names of the lights that are on, the newest last.
    pub(super) on: Vec<String>,
    /// All of them at the face.
    pub(super) reading: Reading,
    /// From the frame before.
    pub(super) change: Option<f64>,
}

/// The order of test frames for lights of these readings: `read` gives that of some together, `room`
/// names the room's own.
pub(super) fn order(
    names: &[String],
    room: &[String],
    read: impl Fn(&[String]) -> Reading,
) -> Vec<Test> {
    let alone = |name: &String| read(std::slice::from_ref(name)).lux_s;
    let mut flashes: Vec<String> =
        names.iter().filter(|name| !room.contains(name)).cloned().collect();
    flashes.sort_by(|a, b| alone(a).total_cmp(&alone(b)));
    let mut tests: Vec<Test> = Vec::new();
    let mut add = |name: String, on: Vec<String>, follows: bool| {
        let reading = read(&on);
        let before = tests.last().filter(|_| follows).map(|test| test.reading);
        let change = before.and_then(|before| face::change(&before, &reading));
        tests.push(Test { name, on, reading, change });
    };
    if !room.is_empty() {
        add("ambient alone".into(), room.to_vec(), false);
    }
    for count in 1..=flashes.len() {
        let on = flashes[..count].to_vec();
        let newest = &flashes[count - 1];
        let name = if count == 1 {
            format!("{newest} alone")
        } else if count == flashes.len() && room.is_empty() {
            format!("+ {newest}: all")
        } else {
            format!("+ {newest}")
        };
        add(name, on, count > 1);
    }
    if !room.is_empty() && !flashes.is_empty() {
        flashes.extend_from_slice(room);
        add("all, with the room".into(), flashes, true);
    }
    tests
}

/// A light's setting in words.
pub(super) fn power_of(plan: &Plan, name: &str) -> Option<Power> {
    plan.lights.iter().find(|light| light.name == name).map(|light| light.power)
}

/// Renders the series and writes it to its place.
pub fn series(
    plan: &Plan,
    options: &SeriesOptions,
    place: &PaperPlace,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<SeriesManifest, ShootError> {
    let names = still::lit(plan, &options.still.only);
    if names.is_empty() {
        return Err(ShootError::Dark);
    }
    let stage = stage::build(plan)?;
    let mut wanted = options.still.clone();
    wanted.size.get_or_insert_with(|| still::default_size(&stage, LONG_SIDE));
    let layers = still::layers(plan, &stage, &wanted, progress)?;
    progress(Progress { done: 1.0, step: "reading" });
    let tracer = Tracer::new(&stage, |light| names.contains(&light.name));
    let values = read_meter::face_at_unit(&stage, &tracer, options.still.seed);
    let lights: Vec<AtUnit> = tracer
        .scene
        .lights
        .iter()
        .zip(values)
        .map(|(light, value)| AtUnit { name: light.name.clone(), kind: light.kind, value })
        .collect();
    let rays = take::rays(plan, &stage, &names);
    let taking = take::taking(plan, &stage, &names, &rays);
    let mix = &taking.mix;
    let read = |on: &[String]| {
        face::reading(&lights, mix, plan.meter_constant, |name| on.iter().any(|o| o == name))
    };
    let room: Vec<String> =
        names.iter().filter(|name| power_of(plan, name).is_none()).cloned().collect();
    let tests = order(&names, &room, read);
    progress(Progress { done: 1.0, step: "writing" });
    let folder = place.stills()?;
    let (mut frames, mut listed) = (Vec::new(), Vec::new());
    for (number, test) in tests.iter().enumerate() {
        let still =
            still::developed(plan, &layers, &taking, |name| test.on.iter().any(|on| on == name))?;
        let file = match folder {
            Some(folder) => {
                let name: String = test.name.chars().map(plain).collect();
                let path = folder.join(format!("{:02} {}.png", number + 1, name.trim()));
                place::write(&path, &encode(&still, FileFormat::Png8)?)?;
                Some(path)
            }
            None => None,
        };
        let heading = format!("{}  {}", number + 1, test.name);
        frames.push(frame(&still, heading, caption(plan, test, &read))?);
        listed.push(SeriesFrame {
            name: test.name.clone(),
            on: test
                .on
                .iter()
                .map(|name| SeriesLight {
                    name: name.clone(),
                    power_stops: power_of(plan, name).map(|power| power.stops),
                    f_number: read(std::slice::from_ref(name)).f_number,
                })
                .collect(),
            f_number: test.reading.f_number,
            stops_vs_camera: test.reading.stops_vs_camera,
            change_stops: test.change,
            file,
        });
    }
    let no_room = if !room.is_empty() {
        ""
    } else {
        "  The plan has no room light: shoot a frame with all heads off to prove that it is dark."
    };
    let contact = Contact {
        title: format!("{}: test frames", title(plan)),
        aside: format!("{}   {}", setting(plan), options.date),
        note: format!(
            "In shooting order. Readings: incident, at the face, dome toward the camera.{no_room}"
        ),
        frames,
        columns: None,
        palette: Vec::new(),
        paper: options.paper,
    };
    let pages = place.write(&contact::pages(&contact), options.paper, &contact.title)?;
    Ok(SeriesManifest {
        title: plan.title.clone(),
        read_at: "face",
        iso: plan.camera.iso,
        shutter_s: plan.camera.shutter.seconds,
        aperture: plan.camera.aperture.f_number,
        frames: listed,
        pages,
    })
}

/// Letters that every file system takes.
fn plain(letter: char) -> char {
    if letter.is_alphanumeric() || matches!(letter, ' ' | '-' | '_') { letter } else { ' ' }
}

/// What is on and at which power, the reading at the face, the change.
fn caption(plan: &Plan, test: &Test, read: &impl Fn(&[String]) -> Reading) -> Vec<String> {
    let mut lines: Vec<String> = test
        .on
        .iter()
        .map(|name| {
            let alone = reads(read(std::slice::from_ref(name)).f_number);
            match power_of(plan, name) {
                Some(power) => format!("{name} {power}: {alone}"),
                None => format!("{name}: {alone}"),
            }
        })
        .collect();
    let versus = test
        .reading
        .stops_vs_camera
        .map_or(String::new(), |stops| format!(", {} to {}", signed(stops), plan.camera.aperture));
    lines.push(format!("Face {}{versus}", reads(test.reading.f_number)));
    if let Some(change) = test.change {
        lines.push(format!("Change {} stops", signed(change)));
    }
    lines
}
