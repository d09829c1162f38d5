//! Room, boxes, cloths, sitter, and the names of them all.

use std::collections::HashMap;

use super::place::Bounds;
use super::{At, Faults};
use crate::plan::sitter::PARTS;
use crate::plan::{Cloth, ClothShape, Length, Plan, Pose, Room, SetBox, Sitter};

/// Names that readings use for the room's light and for all lights together.
const RESERVED: [&str; 2] = ["ambient", "total"];
/// Half the breadth a person takes at the elbows, in metres: half the 95th percentile of
/// forearm-to-forearm breadth is about 0.33 m (ANSUR II, US Army 2012; from memory).
const HALF_SITTER_M: f64 = 0.33;

pub(super) fn room(faults: &mut Faults, at: &At, room: &Room) -> Bounds {
    faults.length(&at.field("width"), room.width, 1.0, 100.0);
    faults.length(&at.field("depth"), room.depth, 1.0, 100.0);
    faults.length(&at.field("height"), room.height, 1.0, 30.0);
    let bounds = Bounds::new(room);
    if let Some(mark) = &room.mark {
        let at = at.field("mark");
        faults.length(&at.field("from_left"), mark.from_left, 0.0, room.width.metres.max(0.0));
        faults.length(&at.field("from_back"), mark.from_back, 0.0, room.depth.metres.max(0.0));
    } else if bounds.front <= 0.0 {
        faults.add(
            &at.field("depth"),
            format!("{} leaves no room for the mark 2 m before the back wall", room.depth),
            "place it: `mark: (from_left: 1.5, from_back: 1)`",
        );
    }
    let apart = [
        ("walls", Some(&room.walls)),
        ("back_wall", room.back_wall.as_ref()),
        ("left_wall", room.left_wall.as_ref()),
        ("right_wall", room.right_wall.as_ref()),
        ("front_wall", room.front_wall.as_ref()),
        ("ceiling", Some(&room.ceiling)),
        ("floor", Some(&room.floor)),
    ];
    for (name, paint) in apart {
        if let Some(paint) = paint {
            faults.paint(&at.field(name), paint);
        }
    }
    bounds
}

pub(super) fn boxes(faults: &mut Faults, root: &At, plan: &Plan, bounds: &Bounds) {
    let list = root.field("boxes");
    for (number, item) in plan.boxes.iter().enumerate() {
        let at = list.item(number, &item.name);
        faults.name(&at, &item.name);
        for (field, size) in [("width", item.width), ("height", item.height), ("depth", item.depth)]
        {
            faults.length(&at.field(field), size, 0.01, 20.0);
        }
        faults.length(&at.field("base"), item.base, 0.0, 20.0);
        faults.degrees(&at.field("turn"), item.turn, 360.0);
        faults.paint(&at.field("paint"), &item.paint);
        box_inside(faults, &at, item, bounds);
    }
}

/// All four corners of the turned box, and its top.
fn box_inside(faults: &mut Faults, at: &At, item: &SetBox, bounds: &Bounds) {
    let (sin, cos) = item.turn.to_radians().sin_cos();
    let (w, d) = (0.5 * item.width.metres, 0.5 * item.depth.metres);
    let top = item.base.metres + item.height.metres;
    let corners = [(w, d), (-w, d), (w, -d), (-w, -d)];
    let beyond = corners.into_iter().find_map(|(u, v)| {
        let (x, z) = (item.x.metres + cos * u + sin * v, item.z.metres - sin * u + cos * v);
        bounds.beyond(x, top, z)
    });
    if let Some((wall, by)) = beyond {
        faults.add(
            at,
            format!("the box reaches {by:.2} m beyond {wall}"),
            "move it, make it smaller, or enlarge the room",
        );
    }
}

pub(super) fn cloths(faults: &mut Faults, root: &At, plan: &Plan, bounds: &Bounds) {
    let list = root.field("cloths");
    for (number, cloth) in plan.cloths.iter().enumerate() {
        let at = list.item(number, &cloth.name);
        faults.name(&at, &cloth.name);
        faults.paint(&at.field("fabric").field("paint"), &cloth.fabric.paint);
        faults.share(&at.field("creases"), cloth.creases);
        faults.share(&at.field("folds"), cloth.folds);
        shape(faults, &at.field("shape"), cloth, plan, bounds);
    }
}

fn shape(faults: &mut Faults, at: &At, cloth: &Cloth, plan: &Plan, bounds: &Bounds) {
    let room_width = (bounds.right - bounds.left).max(0.1);
    let room_depth = (bounds.front - bounds.back).max(0.1);
    let room_height = bounds.height.max(0.1);
    match &cloth.shape {
        ClothShape::Backdrop { width, top, behind, x, turn, sweep } => {
            faults.length(&at.field("width"), *width, 0.1, room_width.hypot(room_depth));
            faults.length(&at.field("top"), *top, 0.1, room_height);
            faults.length(&at.field("sweep"), *sweep, 0.0, room_depth);
            faults.degrees(&at.field("turn"), *turn, 360.0);
            bar(faults, at, [x.metres, top.metres, -behind.metres], *width, *turn, bounds);
        }
        ClothShape::Floor { width, depth, x, z, turn } => {
            faults.length(&at.field("width"), *width, 0.1, room_width.hypot(room_depth));
            faults.length(&at.field("depth"), *depth, 0.1, room_width.hypot(room_depth));
            faults.degrees(&at.field("turn"), *turn, 360.0);
            faults.inside(at, [x.metres, 0.0, z.metres], bounds);
        }
        ClothShape::Over { boxes, overhang } => {
            faults.length(&at.field("overhang"), *overhang, 0.0, 10.0);
            let at = at.field("boxes");
            if boxes.len() > plan.boxes.len() {
                let problem =
                    format!("{} boxes are named, the plan has {}", boxes.len(), plan.boxes.len());
                faults.add(&at, problem, "name each box once");
                return;
            }
            if boxes.is_empty() {
                faults.add(&at, "the cloth lies over no box", "name at least one of the boxes");
            }
            for (number, name) in boxes.iter().enumerate() {
                let known = plan.boxes.iter().map(|b| b.name.as_str());
                faults.reference(&at.item(number, name), name, "box", known);
            }
        }
        ClothShape::Drapery { width, top, drop, x, z, turn } => {
            faults.length(&at.field("width"), *width, 0.05, room_width.hypot(room_depth));
            faults.length(&at.field("top"), *top, 0.05, room_height);
            faults.length(&at.field("drop"), *drop, 0.05, room_height);
            faults.degrees(&at.field("turn"), *turn, 360.0);
            bar(faults, at, [x.metres, top.metres, z.metres], *width, *turn, bounds);
        }
    }
}

/// Both ends of a bar of cloth must hang in the room.
fn bar(faults: &mut Faults, at: &At, c: [f64; 3], width: Length, turn: f64, bounds: &Bounds) {
    let (sin, cos) = turn.to_radians().sin_cos();
    let ends = [0.5 * width.metres, -0.5 * width.metres].map(|half| {
        bounds.beyond(c[0] + half * cos, c[1].clamp(0.0, bounds.height.max(0.0)), c[2] - half * sin)
    });
    if let Some((wall, by)) = ends.into_iter().flatten().max_by(|a, b| a.1.total_cmp(&b.1)) {
        faults.add(
            at,
            format!("the cloth, {width} wide, reaches {by:.2} m beyond {wall}"),
            "make it narrower, move it, or enlarge the room",
        );
    }
}

pub(super) fn sitter(faults: &mut Faults, at: &At, sitter: &Sitter, plan: &Plan, bounds: &Bounds) {
    faults.length(&at.field("height"), sitter.height, 1.2, 2.2);
    faults.range(&at.field("build"), sitter.build, -1.0, 1.0, "(slim to heavy)");
    faults.range(&at.field("proportion"), sitter.proportion, 0.0, 1.0, "(female to male)");
    faults.count(&at.field("skin"), sitter.skin.into(), 1, 10);
    faults.share(&at.field("sheen"), sitter.sheen);
    faults.degrees(&at.field("turn"), sitter.turn, 360.0);
    // what a neck can do: published ranges of motion give rotation 60–80°, bending 35–45°,
    // flexion and extension 45–90° and 45–55°
    let head = at.field("head");
    faults.degrees(&head.field("turn"), sitter.head.turn, 80.0);
    faults.degrees(&head.field("tilt"), sitter.head.tilt, 45.0);
    faults.range(&head.field("nod"), sitter.head.nod, -55.0, 60.0, "degrees");
    faults.color(&at.field("hair").field("color"), &sitter.hair.color);
    if let Some(fabric) = &sitter.headwrap {
        faults.paint(&at.field("headwrap").field("paint"), &fabric.paint);
    }
    if let Some(garment) = &sitter.garment {
        let at = at.field("garment").field("fabric").field("paint");
        faults.paint(&at, &garment.fabric.paint);
    }
    let known = plan.boxes.iter().map(|b| b.name.as_str());
    match (&sitter.seat, sitter.pose) {
        (Some(seat), _) => faults.reference(&at.field("seat"), seat, "box", known),
        (None, Pose::SeatedOnBox) => faults.add(
            &at.field("pose"),
            "`SeatedOnBox` without a seat",
            "add `seat: \"…\"` with the name of one of the boxes",
        ),
        (None, _) => {}
    }
    let standing = matches!(sitter.pose, Pose::Standing | Pose::Contrapposto);
    if standing && sitter.height.metres > bounds.height {
        faults.add(
            &at.field("height"),
            format!("{} is taller than the room", sitter.height),
            format!("the room is {} high", Length::metres(bounds.height)),
        );
    }
    let (x, z) = (sitter.x.metres, sitter.z.metres);
    let sides = [
        bounds.beyond(x - HALF_SITTER_M, 0.0, z),
        bounds.beyond(x + HALF_SITTER_M, 0.0, z),
        bounds.beyond(x, 0.0, z - 0.5 * HALF_SITTER_M),
        bounds.beyond(x, 0.0, z + 0.5 * HALF_SITTER_M),
    ];
    if let Some((wall, by)) = sides.into_iter().flatten().max_by(|a, b| a.1.total_cmp(&b.1)) {
        faults.add(
            at,
            format!(
                "the sitter, {:.2} m wide, reaches {by:.2} m beyond {wall}",
                2.0 * HALF_SITTER_M
            ),
            "move the sitter or the mark, or enlarge the room",
        );
    }
}

/// Names are unique: lights among themselves, and whatever can be aimed at.
pub(super) fn names(faults: &mut Faults, root: &At, plan: &Plan) {
    let lights = plan.lights.iter().map(|l| &l.name).enumerate();
    let lamps = plan.lamps.iter().map(|l| &l.name).enumerate();
    let windows = plan.windows.iter().map(|w| &w.name).enumerate();
    // each is a layer
    let layers = lights
        .map(|(n, name)| (root.field("lights").item(n, name), name))
        .chain(lamps.map(|(n, name)| (root.field("lamps").item(n, name), name)))
        .chain(windows.map(|(n, name)| (root.field("windows").item(n, name), name)));
    unique(faults, layers);
    let boxes = plan.boxes.iter().map(|b| &b.name).enumerate();
    let cloths = plan.cloths.iter().map(|c| &c.name).enumerate();
    let boards = plan.boards.iter().map(|b| &b.name).enumerate();
    let all = boxes
        .map(|(n, name)| (root.field("boxes").item(n, name), name))
        .chain(cloths.map(|(n, name)| (root.field("cloths").item(n, name), name)))
        .chain(boards.map(|(n, name)| (root.field("boards").item(n, name), name)));
    unique(faults, all);
}

fn unique<'a>(faults: &mut Faults, names: impl Iterator<Item = (At, &'a String)>) {
    let mut seen: HashMap<&str, At> = HashMap::new();
    for (at, name) in names {
        let field = at.field("name");
        if RESERVED.iter().chain(&PARTS).any(|kept| kept == name) {
            faults.add(
                &field,
                format!("\"{name}\" is kept for readings"),
                "give it another name, such as \"key\" or \"backdrop\"",
            );
        }
        match seen.get(name.as_str()) {
            Some(first) => faults.add(
                &field,
                format!("the name is taken by {}", first.label),
                format!("give each its own name, such as \"{name} 2\""),
            ),
            None => {
                seen.insert(name, at);
            }
        }
    }
}
