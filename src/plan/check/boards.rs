//! Flags, nets, cut-outs and boards.

use super::place::Bounds;
use super::{At, Faults};
use crate::plan::{BoardKind, CutOut, Hole, Plan};

/// Most openings, and most corners of one.
const MOST_HOLES: usize = 400;
const MOST_CORNERS: usize = 1000;

pub(super) fn boards(faults: &mut Faults, root: &At, plan: &Plan, bounds: &Bounds) {
    let list = root.field("boards");
    for (number, board) in plan.boards.iter().enumerate() {
        let at = list.item(number, &board.name);
        faults.name(&at, &board.name);
        faults.length(&at.field("width"), board.width, 0.01, 20.0);
        faults.length(&at.field("height"), board.height, 0.01, 20.0);
        faults.degrees(&at.field("roll"), board.roll, 360.0);
        if let Some(fold) = board.fold {
            faults.range(&at.field("fold"), fold, 20.0, 180.0, "degrees between the leaves");
        }
        if let Some(back) = &board.back {
            faults.paint(&at.field("back"), back);
        }
        if board.round && board.fold.is_some() {
            faults.add(&at.field("fold"), "a round board cannot fold", "leave one of them out");
        }
        faults.place(&at.field("place"), &board.place, plan, bounds);
        faults.target(&at.field("aim"), &board.aim, plan, bounds);
        let at = at.field("kind");
        let rectangles = matches!(
            board.kind,
            BoardKind::CutOut(
                CutOut::Window { .. }
                    | CutOut::Slats { .. }
                    | CutOut::Leaves { .. }
                    | CutOut::Picture { .. }
            )
        );
        if board.round && rectangles {
            faults.add(
                &at,
                "this cut-out is rectangular and cannot be round",
                "leave `round` out, or cut it by Shapes",
            );
        }
        match &board.kind {
            BoardKind::Flag
            | BoardKind::White
            | BoardKind::Silver
            | BoardKind::Gold
            | BoardKind::Black => {}
            BoardKind::Net { stops } => {
                faults.range(
                    &at.field("stops"),
                    *stops,
                    0.05,
                    6.0,
                    "stops (half to two are usual)",
                );
            }
            BoardKind::Reflector(paint) => faults.paint(&at, paint),
            BoardKind::CutOut(CutOut::Window { rows, columns, bar }) => {
                faults.count(&at.field("rows"), *rows, 1, 50);
                faults.count(&at.field("columns"), *columns, 1, 50);
                faults.range(&at.field("bar"), *bar, 0.0, 0.95, "(a share of the pitch)");
            }
            BoardKind::CutOut(CutOut::Slats { count, solid }) => {
                faults.count(&at.field("count"), *count, 1, 100);
                faults.range(&at.field("solid"), *solid, 0.0, 0.95, "(a share of the pitch)");
            }
            BoardKind::CutOut(CutOut::Leaves { count, .. }) => {
                faults.count(&at.field("count"), *count, 1, 500);
            }
            BoardKind::CutOut(CutOut::Shapes { holes }) => {
                shapes(faults, &at.field("holes"), holes)
            }
            BoardKind::CutOut(CutOut::Picture { file, level, .. }) => {
                faults.file(&at.field("file"), file, "a PNG picture");
                faults.range(&at.field("level"), *level, 0.001, 0.999, "(half is usual)");
            }
        }
    }
}

fn shapes(faults: &mut Faults, at: &At, holes: &[Hole]) {
    if holes.is_empty() || holes.len() > MOST_HOLES {
        faults.add(
            at,
            format!("{} openings", holes.len()),
            format!("cut from 1 to {MOST_HOLES}, such as Circle(diameter: \"10 cm\")"),
        );
        return;
    }
    for (number, hole) in holes.iter().enumerate() {
        let at = at.item(number, "");
        match hole {
            Hole::Circle { diameter, .. } => {
                faults.length(&at.field("diameter"), *diameter, 0.002, 12.0);
            }
            Hole::Ellipse { width, height, turn, .. } | Hole::Slot { width, height, turn, .. } => {
                faults.length(&at.field("width"), *width, 0.002, 12.0);
                faults.length(&at.field("height"), *height, 0.002, 12.0);
                faults.degrees(&at.field("turn"), *turn, 360.0);
            }
            Hole::Outline(corners) if !(3..=MOST_CORNERS).contains(&corners.len()) => faults.add(
                &at,
                format!("an outline of {} corners", corners.len()),
                format!(
                    "give 3 to {MOST_CORNERS} corners in order, such as (0, 0), (0.1, 0), (0, 0.1)"
                ),
            ),
            Hole::Outline(_) => {}
        }
    }
}
