//! Heads, modifiers, gels, boards, and the room's light.

use super::place::Bounds;
use super::{At, Faults};
use crate::plan::{BoardKind, CutOut, Gel, Head, Modifier, Output, Plan};

pub(super) fn lights(faults: &mut Faults, root: &At, plan: &Plan, bounds: &Bounds) {
    let list = root.field("lights");
    if plan.ambient.is_none() && !plan.lights.iter().any(|light| light.on) {
        faults.add(
            &list,
            if plan.lights.is_empty() { "there is no light" } else { "every light is off" },
            "nothing would be lit: add a light, switch one on, or keep the room's: `ambient: (ev: 6)`",
        );
    }
    for (number, light) in plan.lights.iter().enumerate() {
        let at = list.item(number, &light.name);
        faults.name(&at, &light.name);
        head(faults, &at.field("head"), &light.head);
        modifier(faults, &at.field("modifier"), &light.modifier);
        if let Some(filter) = &light.gel {
            gel(faults, &at.field("gel"), filter);
        }
        faults.place(&at.field("place"), &light.place, plan, bounds);
        faults.target(&at.field("aim"), &light.aim, plan, bounds);
    }
    if let Some(ambient) = &plan.ambient {
        let at = root.field("ambient");
        faults.range(&at.field("ev"), ambient.ev, -10.0, 20.0, "(EV at ISO 100)");
        faults.kelvin(&at.field("kelvin"), ambient.kelvin);
    }
}

fn head(faults: &mut Faults, at: &At, head: &Head) {
    faults.range(&at.field("energy_ws"), head.energy_ws, 1.0, 20_000.0, "W·s");
    faults.kelvin(&at.field("kelvin"), head.kelvin);
    if head.lowest.stops > 0.0 {
        faults.add(
            &at.field("lowest"),
            format!("{} is above full power", head.lowest),
            "write the head's lowest power, such as \"1/128\"",
        );
    }
    let at = at.field("output");
    match &head.output {
        Output::GuideNumber(number) => faults.range(&at, *number, 0.5, 500.0, "(metres, ISO 100)"),
        Output::Reading { distance, iso, .. } => {
            faults.length(&at.field("distance"), *distance, 0.1, 100.0);
            iso_speed(faults, &at.field("iso"), *iso);
        }
        Output::Efficacy { lm_s_per_ws } => {
            let at = at.field("lm_s_per_ws");
            faults.range(&at, *lm_s_per_ws, 1.0, 150.0, "lm·s per W·s (15 to 45 is usual)");
        }
    }
}

pub(super) fn iso_speed(faults: &mut Faults, at: &At, iso: f64) {
    faults.range(at, iso, 1.0, 1_000_000.0, "(ISO 100 is usual in a studio)");
}

fn modifier(faults: &mut Faults, at: &At, modifier: &Modifier) {
    let loss = |faults: &mut Faults, loss: f64| {
        faults.range(&at.field("loss"), loss, 0.0, 10.0, "stops");
    };
    match modifier {
        Modifier::BareTube { diameter, length } => {
            faults.length(&at.field("diameter"), *diameter, 0.001, 0.5);
            faults.length(&at.field("length"), *length, 0.001, 2.0);
        }
        Modifier::Dish { diameter, beam, field, loss: stops } => {
            faults.length(&at.field("diameter"), *diameter, 0.01, 3.0);
            let (beam_at, field_at) = (at.field("beam"), at.field("field"));
            faults.range(&beam_at, *beam, 1.0, 170.0, "degrees across");
            if *field <= *beam {
                faults.add(
                    &field_at,
                    format!("the field angle {field}° is not wider than the beam angle {beam}°"),
                    "the field (10 % of the peak) lies outside the beam (50 %), such as 55 and 85",
                );
            } else {
                faults.range(&field_at, *field, 1.0, 179.0, "degrees across");
            }
            loss(faults, *stops);
        }
        Modifier::Panel { width, height, loss: stops } => {
            faults.length(&at.field("width"), *width, 0.01, 10.0);
            faults.length(&at.field("height"), *height, 0.01, 10.0);
            loss(faults, *stops);
        }
    }
}

fn gel(faults: &mut Faults, at: &At, gel: &Gel) {
    let transmission = match gel {
        Gel::Mired { shift, transmission } => {
            faults.range(&at.field("shift"), *shift, -500.0, 500.0, "mired (+ warms)");
            *transmission
        }
        Gel::Color { color, transmission } => {
            faults.color(&at.field("color"), color);
            *transmission
        }
    };
    faults.range(&at.field("transmission"), transmission, 0.0001, 1.0, "(a share, 0.5 is 1 stop)");
}

pub(super) fn boards(faults: &mut Faults, root: &At, plan: &Plan, bounds: &Bounds) {
    let list = root.field("boards");
    for (number, board) in plan.boards.iter().enumerate() {
        let at = list.item(number, &board.name);
        faults.name(&at, &board.name);
        faults.length(&at.field("width"), board.width, 0.01, 20.0);
        faults.length(&at.field("height"), board.height, 0.01, 20.0);
        faults.degrees(&at.field("roll"), board.roll, 360.0);
        faults.place(&at.field("place"), &board.place, plan, bounds);
        faults.target(&at.field("aim"), &board.aim, plan, bounds);
        let at = at.field("kind");
        match &board.kind {
            BoardKind::Flag => {}
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
        }
    }
}
