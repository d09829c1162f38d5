//! The plan's camera as the picture takes it: mix, lens, filter, curtains; and the record that a
//! still carries.

use super::ShootError;
use super::gains;
use crate::layers::{Layers, LightKind};
use crate::optics::glare::filter_share;
use crate::optics::lens::Falloff;
use crate::optics::shutter::Curtains;
use crate::picture::{
    self, Edge, Picture, Record, Still, Stray, StrayLens, Taking, View, clipping, develop,
};
use crate::plan::still::OPENING;
use crate::plan::{self, Camera, Plan, Vignetting};
use crate::stage::{self, Stage};
use crate::trace::{IntoLens, Tracer};

/// Diagonal of 36 × 24 mm.
const FULL_FRAME_MM: f64 = 43.266_615;

/// The lens and sensor of a stage's camera.
pub fn view(camera: &stage::Camera) -> View {
    let v = camera.image_distance_m();
    View {
        half_tan: camera.sensor_m.map(|side| 0.5 * side / v),
        pupil_tan: camera.pupil_radius_m / v,
    }
}

/// What a stage's rays say once and for all, whatever the powers and the setting.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rays {
    /// Each of the room's own lights at unit level, at the sitter's face, lx.
    unit_room_lux: Vec<(String, f64)>,
    /// Lights that shine into the lens.
    pub stray: Vec<Stray>,
}

/// Traces them for the lights `names`: one pass for a stage, before the first picture.
pub fn rays(plan: &Plan, stage: &Stage, names: &[String]) -> Rays {
    let faces_lens = |light: &stage::Light| {
        light.fronts().any(|front| {
            let all_round = matches!(
                front.shape,
                stage::SourceShape::Tube { .. } | stage::SourceShape::Ball { .. }
            );
            all_round || front.axis.dot(stage.camera.position - front.position) > 0.0
        })
    };
    let read = gains::read_by_ev(plan, names);
    let wanted = |light: &stage::Light| {
        names.contains(&light.name) && (read.contains(&light.name) || faces_lens(light))
    };
    if !stage.lights.iter().any(wanted) {
        return Rays::default();
    }
    let tracer = Tracer::for_few_rays(stage, wanted);
    let shines = |one: IntoLens| Stray {
        tangents: tracer.tangents(one.toward),
        light: one.name,
        kind: one.kind,
        on_lens: one.on_lens,
    };
    let matters = plan.camera.flare > 0.0 || plan.camera.diffusion.strength > 0.0;
    let found = if matters { tracer.into_lens() } else { Vec::new() };
    let stray = found.into_iter().map(shines).collect();
    Rays { unit_room_lux: gains::unit_room_lux(stage, tracer, &read), stray }
}

/// How the plan's camera takes these lights. Arithmetic alone: call it as often as a power changes.
pub fn taking(plan: &Plan, stage: &Stage, names: &[String], rays: &Rays) -> Taking {
    let camera = &plan.camera;
    let view = view(&stage.camera);
    let f_number = camera.aperture.f_number;
    Taking {
        mix: gains::mix_at(plan, names, &rays.unit_room_lux),
        curtains: curtains(camera).map(|curtains| (curtains, edge(camera))),
        falloff: camera.vignetting.map(|vignetting| match vignetting {
            Vignetting::Natural => Falloff::NATURAL,
            Vignetting::Barrel { widest, corner_stops } => {
                Falloff::barrel(f_number, widest.f_number, corner_stops, view.corner_tan())
            }
        }),
        lens: StrayLens {
            flare: camera.flare,
            filter: filter_share(camera.diffusion.strength, f_number),
        },
        stray: rays.stray.clone(),
        view,
    }
}

/// The curtains of a camera, unless its flashes pulse through their travel.
pub fn curtains(camera: &Camera) -> Option<Curtains> {
    let travel_s = camera.curtain.map(|curtain| curtain.seconds);
    let curtains = Curtains::new(camera.shutter.seconds, camera.sync.seconds, travel_s);
    (!camera.high_speed_sync).then_some(curtains)
}

/// A frame is covered from what is its bottom when the camera is held level.
fn edge(camera: &Camera) -> Edge {
    if camera.upright { Edge::Right } else { Edge::Bottom }
}

/// The picture that the plan's camera records of these layers.
pub fn take(plan: &Plan, stage: &Stage, layers: &Layers) -> Result<Picture, ShootError> {
    let names: Vec<String> = layers.layers.iter().map(|layer| layer.name.clone()).collect();
    let rays = rays(plan, stage, &names);
    Ok(taking(plan, stage, &names, &rays).picture(layers)?)
}

/// The plan's development.
pub fn development(plan: &Plan) -> picture::Development {
    let planned = &plan.development;
    picture::Development {
        tone: match planned.tone {
            plan::Tone::Neutral => picture::Tone::Neutral,
            plan::Tone::Straight => picture::Tone::Straight,
        },
        contrast: planned.contrast as f32,
        monochrome: planned
            .monochrome
            .map(|mix| glam::DVec3::new(mix.red, mix.green, mix.blue).as_vec3()),
    }
}

/// The picture, developed as the plan says.
pub fn develop_plan(plan: &Plan, picture: &Picture) -> Still {
    let mut still = develop(picture, development(plan));
    if plan.development.clipping {
        clipping::mark(&mut still, picture);
    }
    still
}

/// What a still of the plan says of how it was taken.
pub fn record(plan: &Plan, stage: &Stage) -> Result<Record, ShootError> {
    let camera = &stage.camera;
    let [w, h] = camera.sensor_m;
    let focal_mm = 1000.0 * camera.focal_m;
    let flash = |light: &stage::Light| light.on && light.kind == LightKind::Flash;
    Ok(Record {
        title: plan.title.clone(),
        plan: format!("{OPENING}\n{}", plan::write::to_ascii(plan)?),
        focal_mm,
        focal_35mm: focal_mm * FULL_FRAME_MM / (1000.0 * w.hypot(h)),
        f_number: plan.camera.aperture.f_number,
        shutter_s: plan.camera.shutter.seconds,
        iso: plan.camera.iso,
        subject_m: camera.focus_m,
        flash: stage.lights.iter().any(flash),
    })
}
