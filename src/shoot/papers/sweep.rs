//! One field of the plan, or two, through a range: a still for each value on a page.
//!
//! The [`Darkroom`] keeps layers, so that only what changes is traced.

use std::path::PathBuf;

use serde::Serialize;

use super::darkroom::{Darkroom, Shot};
use super::face::{self, Reading};
use super::place::{self, PaperPlace};
use super::{frame, reads, setting, signed, title};
use crate::papers::Paper;
use crate::papers::contact::{self, Contact};
use crate::picture::{FileFormat, Taking, encode};
use crate::plan::Plan;
use crate::plan::vary::Field;
use crate::shoot::options::{Progress, StillOptions};
use crate::shoot::{ShootError, still};

/// Long side of a frame where no size is asked for.
pub(super) const LONG_SIDE: f64 = 480.0;
/// A field and its values.
#[derive(Debug, Clone, PartialEq)]
pub struct Vary {
    /// Which.
    pub field: Field,
    /// In order.
    pub values: Vec<f64>,
}

/// A sweep.
#[derive(Debug, Clone, PartialEq)]
pub struct SweepOptions {
    /// Size, quality and seed of the frames.
    pub still: StillOptions,
    /// Along the rows.
    pub across: Vary,
    /// Down the columns, for a grid.
    pub down: Option<Vary>,
    /// Hold the reading at the face: each frame's exposure is corrected to the first frame's.
    pub level: bool,
    /// The page.
    pub paper: Paper,
    /// For the page's head.
    pub date: String,
}

/// What a sweep holds.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SweepManifest {
    /// The plan's title.
    pub title: String,
    /// The fields that vary, across then down.
    pub fields: Vec<String>,
    /// Where the readings are taken.
    pub read_at: &'static str,
    /// Row by row.
    pub frames: Vec<SweepFrame>,
    /// Layers that were traced.
    pub layers_traced: usize,
    /// Layers that frames are made of in all.
    pub layers_used: usize,
    /// The pages, a file each.
    pub pages: Vec<PathBuf>,
}

/// A frame of a sweep.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SweepFrame {
    /// A value for each field.
    pub values: Vec<f64>,
    /// What a meter at the face reads of all lights.
    pub f_number: Option<f64>,
    /// Stops over the camera's aperture.
    pub stops_vs_camera: Option<f64>,
    /// Stops from the first frame.
    pub change_stops: Option<f64>,
    /// Stops that the exposure was corrected by; 0 unless asked for.
    pub corrected_stops: f64,
    /// Layers traced for it; the others were there.
    pub traced: Vec<String>,
    /// Share of the picture in which the others were traced again, because a moved head shows.
    pub patched_share: f64,
    /// The still, where single files were asked for.
    pub file: Option<PathBuf>,
}

/// Renders the frames and writes them to their place.
pub fn sweep(
    plan: &Plan,
    options: &SweepOptions,
    place: &PaperPlace,
    progress: &(dyn Fn(Progress) + Sync),
) -> Result<SweepManifest, ShootError> {
    let steps = steps(plan, options)?;
    let plans: Vec<&Plan> = steps.iter().map(|step| &step.plan).collect();
    let mut darkroom = Darkroom::new(&plans, &options.still);
    darkroom.refuse(&plans)?;
    let folder = place.stills()?;
    let (mut frames, mut listed) = (Vec::new(), Vec::new());
    let mut first: Option<Reading> = None;
    for (number, step) in steps.iter().enumerate() {
        let part = |inner: Progress| {
            let done = (number as f64 + inner.done) / steps.len() as f64;
            progress(Progress { done, step: inner.step });
        };
        let shot = darkroom.shoot(&step.plan, &part)?;
        let reading =
            face::reading(&shot.face, &shot.taking.mix, step.plan.meter_constant, |_| true);
        let start = *first.get_or_insert(reading);
        let change = face::change(&start, &reading);
        let exposed = start.stops_vs_camera.zip(reading.stops_vs_camera).map(|(a, b)| a - b);
        let corrected_stops = exposed.filter(|_| options.level).unwrap_or(0.0);
        let still =
            still::developed(&step.plan, &shot.layers, &pushed(&shot, corrected_stops), |_| true)?;
        let file = match folder {
            Some(folder) => {
                let path = folder.join(format!("{:02}.png", number + 1));
                place::write(&path, &encode(&still, FileFormat::Png8)?)?;
                Some(path)
            }
            None => None,
        };
        let shown = step.shown.join("\n");
        frames.push(frame(&still, shown, caption(step, &shot, &reading, change, corrected_stops))?);
        listed.push(SweepFrame {
            values: step.values.clone(),
            f_number: reading.f_number,
            stops_vs_camera: reading.stops_vs_camera,
            change_stops: change,
            corrected_stops,
            traced: shot.traced,
            patched_share: shot.patched_share,
            file,
        });
    }
    progress(Progress { done: 1.0, step: "writing" });
    let fields: Vec<String> = [Some(&options.across), options.down.as_ref()]
        .into_iter()
        .flatten()
        .map(|vary| vary.field.label())
        .collect();
    let exposure = if options.level {
        "Exposure of each frame corrected to the first frame's reading at the face."
    } else {
        "Same exposure across: nothing is corrected."
    };
    let contact = Contact {
        title: format!("{}: {}", title(plan), fields.join(" × ")),
        aside: format!("{}   {}", setting(plan), options.date),
        note: format!("{exposure} Readings: incident, at the face, dome toward the camera."),
        frames,
        columns: options.down.as_ref().map(|_| options.across.values.len()),
        palette: Vec::new(),
        paper: options.paper,
    };
    let pages = place.write(&contact::pages(&contact), options.paper, &contact.title)?;
    Ok(SweepManifest {
        title: plan.title.clone(),
        fields,
        read_at: "face",
        layers_traced: listed.iter().map(|frame| frame.traced.len()).sum(),
        layers_used: darkroom.used,
        frames: listed,
        pages,
    })
}

/// A plan of the sweep.
struct Step {
    plan: Plan,
    values: Vec<f64>,
    shown: Vec<String>,
}

fn steps(plan: &Plan, options: &SweepOptions) -> Result<Vec<Step>, ShootError> {
    let down: Vec<Option<f64>> = match &options.down {
        Some(vary) => vary.values.iter().copied().map(Some).collect(),
        None => vec![None],
    };
    let mut steps = Vec::new();
    for second in down {
        for &value in &options.across.values {
            let across = &options.across.field;
            let show = |field: &Field, value| format!("{} {}", field.label(), field.show(value));
            let mut step = Step {
                plan: across.set(plan, value)?,
                values: vec![value],
                shown: vec![show(across, value)],
            };
            if let (Some(vary), Some(second)) = (&options.down, second) {
                step.plan = vary.field.set(&step.plan, second)?;
                step.values.push(second);
                step.shown.push(show(&vary.field, second));
            }
            steps.push(step);
        }
    }
    Ok(steps)
}

fn caption(
    step: &Step,
    shot: &Shot,
    reading: &Reading,
    change: Option<f64>,
    corrected: f64,
) -> Vec<String> {
    let versus = reading.stops_vs_camera.map_or(String::new(), |stops| {
        format!(", {} to {}", signed(stops), step.plan.camera.aperture)
    });
    let mut lines = vec![format!("Face {}{versus}", reads(reading.f_number))];
    if let Some(change) = change.filter(|change| change.abs() >= 0.05) {
        lines.push(format!("Change {} stops", signed(change)));
    }
    if let Some(name) = &shot.moved {
        let alone =
            face::reading(&shot.face, &shot.taking.mix, step.plan.meter_constant, |n| n == name);
        lines.push(format!("{name} alone {}", reads(alone.f_number)));
    }
    if corrected.abs() >= 0.05 {
        lines.push(format!("Exposure corrected {} stops", signed(corrected)));
    }
    lines
}

/// The taking with every light raised by so many stops.
fn pushed(shot: &Shot, stops: f64) -> Taking {
    let mut taking = shot.taking.clone();
    if stops != 0.0 {
        for layer in &shot.layers.layers {
            let gain = taking.mix.gain(&layer.name) * stops.exp2() as f32;
            taking.mix = taking.mix.with(layer.name.clone(), gain);
        }
    }
    taking
}
