//! Lights: heads, outputs and gels.

use super::modifier;
use super::place::Bounds;
use super::{At, Faults};
use crate::plan::{Gel, Head, Output, Plan};

pub(super) fn lights(faults: &mut Faults, root: &At, plan: &Plan, bounds: &Bounds) {
    let list = root.field("lights");
    let room = plan.ambient.is_some() || !plan.lamps.is_empty() || !plan.windows.is_empty();
    if !room && !plan.lights.iter().any(|light| light.on) {
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
        modifier::modifier(faults, &at, light);
        if let Some(filter) = &light.gel {
            gel(faults, &at.field("gel"), filter);
        }
        faults.place(&at.field("place"), &light.place, plan, bounds);
        faults.target(&at.field("aim"), &light.aim, plan, bounds);
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
    faults.count(&at.field("count"), head.count, 1, 16);
    for (number, point) in head.drift.iter().enumerate() {
        let at = at.field("drift").item(number, "");
        faults.kelvin(&at.field("kelvin"), point.kelvin);
        if point.power.stops > 0.0 {
            faults.add(
                &at.field("power"),
                format!("{} is above full power", point.power),
                "write a power of the head, such as \"1/8\"",
            );
        }
    }
    if let Some(tube) = &head.tube {
        let at = at.field("tube");
        faults.length(&at.field("diameter"), tube.diameter, 0.002, 0.3);
        faults.share(&at.field("share"), tube.share);
    }
    if let Some(seconds) = head.recycle_s {
        faults.range(&at.field("recycle_s"), seconds, 0.0, 120.0, "seconds");
    }
    if let Some(watts) = head.modelling_w {
        faults.range(&at.field("modelling_w"), watts, 0.0, 5000.0, "watts");
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
        Output::Lumens(lumens) => faults.range(&at, *lumens, 1.0, 1e7, "lm"),
        Output::Candela(candela) => faults.range(&at, *candela, 0.1, 1e8, "cd"),
        Output::Lux { lux, distance } => {
            faults.range(&at.field("lux"), *lux, 0.01, 1e7, "lx");
            faults.length(&at.field("distance"), *distance, 0.1, 100.0);
        }
        Output::AsFiled => {}
    }
}

pub(super) fn iso_speed(faults: &mut Faults, at: &At, iso: f64) {
    faults.range(at, iso, 1.0, 1_000_000.0, "(ISO 100 is usual in a studio)");
}

fn gel(faults: &mut Faults, at: &At, gel: &Gel) {
    let transmission = match gel {
        Gel::Mired { shift, transmission } => {
            faults.range(&at.field("shift"), *shift, -500.0, 500.0, "mired (+ warms)");
            transmission.unwrap_or(1.0)
        }
        Gel::Color { color, transmission } => {
            faults.color(&at.field("color"), color);
            *transmission
        }
    };
    faults.range(&at.field("transmission"), transmission, 0.0001, 1.0, "(a share, 0.5 is 1 stop)");
}
