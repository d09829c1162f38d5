//! The camera, and whether the room leaves space for it.

use super::place::Bounds;
use super::{At, Faults, lights};
use crate::optics::lens::distance_to_fill_mm;
use crate::plan::{
    Camera, Development, Extent, FramedBy, Framing, Length, Place, Plan, Target, Vignetting,
};

pub(super) fn camera(faults: &mut Faults, at: &At, plan: &Plan, bounds: &Bounds) {
    let camera = &plan.camera;
    let format = at.field("format");
    faults.range(&format.field("width_mm"), camera.format.width_mm, 3.0, 300.0, "mm");
    faults.range(&format.field("height_mm"), camera.format.height_mm, 3.0, 300.0, "mm");
    faults.range(&at.field("focal_mm"), camera.focal_mm, 3.0, 2000.0, "mm");
    lights::iso_speed(faults, &at.field("iso"), camera.iso);
    if camera.sync.seconds > 1.0 {
        faults.add(
            &at.field("sync"),
            format!("{} is no sync time", camera.sync),
            "write the fastest time that flash follows, such as \"1/200\"",
        );
    }
    if let Some(curtain) = camera.curtain.filter(|curtain| curtain.seconds > camera.sync.seconds) {
        faults.add(
            &at.field("curtain"),
            format!(
                "the curtain's travel, {curtain}, is longer than the sync time, {}",
                camera.sync
            ),
            "write a time up to the sync time; about 1/300 s is usual",
        );
    }
    faults.kelvin(&at.field("white_balance"), camera.white_balance);
    faults.range(&at.field("flare"), camera.flare, 0.0, 0.2, "(a share; 0.005 is usual)");
    if let Some(Vignetting::Barrel { corner_stops, .. }) = &camera.vignetting {
        let corner = at.field("vignetting").field("corner_stops");
        faults.range(&corner, *corner_stops, 0.0, 6.0, "stops");
    }
    if let Some(one) = &camera.framing {
        framing(faults, &at.field("framing"), one, plan);
    }
    match beyond_wall(camera, bounds) {
        Some((problem, remedy)) => faults.add(&at.field("place"), problem, remedy),
        None => faults.place(&at.field("place"), &camera.place, plan, bounds),
    }
    faults.target(&at.field("aim"), &camera.aim, plan, bounds);
    let focus = at.field("focus");
    faults.target(&focus, &camera.focus, plan, bounds);
    if matches!(camera.focus, Target::Toward { .. }) {
        faults.add(
            &focus,
            "a direction has no distance to focus on",
            "name a part of the sitter, a thing of the set, or a `Point`",
        );
    }
    let focal = Length::metres(camera.focal_mm / 1000.0);
    if let Place::Around { distance, .. } = &camera.place
        && distance.metres <= 2.0 * focal.metres
    {
        faults.add(
            &at.field("place").field("distance"),
            format!("{distance} is nearer than a lens of {} mm focuses", camera.focal_mm),
            "move the camera back or use a shorter lens",
        );
    }
}

fn framing(faults: &mut Faults, at: &At, framing: &Framing, plan: &Plan) {
    faults.range(&at.field("height"), framing.height, 0.02, 3.0, "(a share of the frame's height)");
    faults.range(&at.field("rise"), framing.rise, -1.0, 1.0, "(a share of the frame's height)");
    let part = at.field("part");
    match &framing.part {
        Extent::Named(name) => {
            let things = plan.cloths.iter().map(|c| c.name.as_str());
            let things = things.chain(plan.boxes.iter().map(|b| b.name.as_str()));
            let things = things.chain(plan.boards.iter().map(|b| b.name.as_str()));
            faults.reference(&part, name, "cloth, box or board", things);
        }
        _ if plan.sitter.is_none() => faults.add(
            &part,
            "there is no sitter to frame",
            "add a sitter, or frame a thing of the set with `Named(\"…\")`",
        ),
        _ => {}
    }
}

pub(super) fn development(faults: &mut Faults, at: &At, development: &Development) {
    faults.range(&at.field("contrast"), development.contrast, 0.25, 4.0, "(1 leaves it)");
    if let Some(mix) = &development.monochrome {
        let at = at.field("monochrome");
        for (name, value) in [("red", mix.red), ("green", mix.green), ("blue", mix.blue)] {
            faults.range(&at.field(name), value, -3.0, 3.0, "");
        }
        let sum = mix.red + mix.green + mix.blue;
        if sum.abs() < 0.05 || sum < 0.0 {
            faults.add(
                &at,
                format!("the shares add up to {sum}: white would be black"),
                "let them add up to more than 0, such as red: 0.5, green: 0.4, blue: 0.1",
            );
        }
    }
}

/// A camera that the room has no space for, with the lens that gives the same frame from inside.
fn beyond_wall(camera: &Camera, bounds: &Bounds) -> Option<(String, String)> {
    // a framing moves the camera itself
    let moved = camera.framing.as_ref().is_some_and(|framing| framing.by == FramedBy::Distance);
    let [x, y, z] = camera.place.floor_point().filter(|_| !moved)?;
    let (wall, by) = bounds.beyond(x, y, z).filter(|(wall, _)| wall.ends_with("wall"))?;
    let distance_m = x.hypot(z);
    let upright_mm = if camera.upright { camera.format.width_mm } else { camera.format.height_mm };
    if by >= distance_m || camera.focal_mm.is_nan() || camera.focal_mm <= 0.0 {
        return None;
    }
    // distance_to_fill_mm solved for the frame, then for the focal length
    let frame_mm = upright_mm * (1000.0 * distance_m / camera.focal_mm - 1.0);
    let focal_mm = 1000.0 * (distance_m - by) / (frame_mm / upright_mm + 1.0);
    Some((
        format!(
            "the camera is {by:.2} m beyond {wall}: a frame {:.1} m high with {} mm takes {:.2} m",
            frame_mm / 1000.0,
            camera.focal_mm,
            distance_to_fill_mm(camera.focal_mm, frame_mm, upright_mm) / 1000.0
        ),
        format!("use {focal_mm:.0} mm from the wall for the same frame, or enlarge the room"),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan;

    /// Case M01: 85 mm, 36 mm upright, a frame 2 m high takes 4.81 m; in a room that ends at
    /// 3.5 m the hint names the lens: 85 · 3.5 / 4.81 = 62 mm.
    #[test]
    fn camera_room() {
        let wanted_m = distance_to_fill_mm(85.0, 2000.0, 36.0) / 1000.0;
        assert!((wanted_m / 4.81 - 1.0).abs() < 0.003, "{wanted_m}");
        let text = format!(
            "(format: 1, ambient: (ev: 5), room: (depth: 5.5), \
             camera: (place: Stand(azimuth: 0, distance: {wanted_m}, height: 1.5)))"
        );
        let told = plan::parse(&text, "test").unwrap_err().to_string();
        for part in ["beyond the front wall", "2.0 m high", "4.81 m", "use 62 mm"] {
            assert!(told.contains(part), "{part} in {told}");
        }
    }
}
