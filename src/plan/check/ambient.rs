//! The room's own light: level, lamps, windows.

use super::place::Bounds;
use super::{At, Faults};
use crate::plan::{LampForm, LampLevel, Plan, Sky, Wall, Window};

pub(super) fn ambient(faults: &mut Faults, root: &At, plan: &Plan, bounds: &Bounds) {
    if let Some(ambient) = &plan.ambient {
        let at = root.field("ambient");
        faults.range(&at.field("ev"), ambient.ev, -10.0, 20.0, "(EV at ISO 100)");
        faults.kelvin(&at.field("kelvin"), ambient.kelvin);
    }
    let list = root.field("lamps");
    for (number, lamp) in plan.lamps.iter().enumerate() {
        let at = list.item(number, &lamp.name);
        faults.name(&at, &lamp.name);
        faults.kelvin(&at.field("kelvin"), lamp.kelvin);
        faults.place(&at.field("place"), &lamp.place, plan, bounds);
        faults.target(&at.field("aim"), &lamp.aim, plan, bounds);
        let form = at.field("form");
        match lamp.form {
            LampForm::Globe { diameter } => {
                faults.length(&form.field("diameter"), diameter, 0.01, 3.0);
            }
            LampForm::Panel { width, height } => {
                faults.length(&form.field("width"), width, 0.01, 10.0);
                faults.length(&form.field("height"), height, 0.01, 10.0);
            }
            LampForm::Spot { diameter, beam, field } => {
                faults.length(&form.field("diameter"), diameter, 0.01, 3.0);
                super::modifier::angles(faults, &form, beam, field);
            }
        }
        match lamp.level {
            LampLevel::Ev(ev) => {
                faults.range(&at.field("level"), ev, -10.0, 20.0, "(EV at ISO 100)");
            }
            LampLevel::Lumens(lumens) => {
                faults.range(&at.field("level"), lumens, 1.0, 1e7, "lm (a household lamp: 800)");
            }
        }
    }
    let list = root.field("windows");
    for (number, window) in plan.windows.iter().enumerate() {
        let at = list.item(number, &window.name);
        faults.name(&at, &window.name);
        one_window(faults, &at, window, bounds);
    }
}

fn one_window(faults: &mut Faults, at: &At, window: &Window, bounds: &Bounds) {
    faults.kelvin(&at.field("kelvin"), window.kelvin);
    faults.range(&at.field("ev"), window.ev, -10.0, 20.0, "(EV at ISO 100)");
    faults.length(&at.field("thickness"), window.thickness, 0.01, 2.0);
    faults.share(&at.field("ground"), window.ground);
    faults.length(&at.field("width"), window.width, 0.05, 100.0);
    faults.length(&at.field("height"), window.height, 0.05, 100.0);
    faults.length(&at.field("sill"), window.sill, 0.01, 100.0);
    let (rows, columns) = window.panes;
    if !(1..=20).contains(&rows) || !(1..=20).contains(&columns) {
        faults.add(
            &at.field("panes"),
            format!("({rows}, {columns}) panes are out of range"),
            "write from (1, 1) to (20, 20): panes down, panes across",
        );
    }
    let sky = at.field("sky");
    if let Sky::General { number, .. } = window.sky {
        faults.count(&sky.field("number"), number, 1, 15);
    }
    if let Sky::General { sun_azimuth, sun_elevation, .. }
    | Sky::Clear { sun_azimuth, sun_elevation } = window.sky
    {
        faults.degrees(&sky.field("sun_azimuth"), sun_azimuth, 180.0);
        faults.range(&sky.field("sun_elevation"), sun_elevation, 0.0, 90.0, "degrees");
    }
    let (low, high, wall) = match window.wall {
        Wall::Back | Wall::Front => (bounds.left, bounds.right, "wide"),
        Wall::Left | Wall::Right => (bounds.back, bounds.front, "deep"),
    };
    let (half, middle) = (0.5 * window.width.metres, window.along.metres);
    // NaN and the like are no faults of fit: the length has been judged
    if middle - half <= low || middle + half >= high {
        faults.add(
            &at.field("along"),
            format!(
                "the opening runs from {:.2} to {:.2} m, its wall from {low:.2} to {high:.2} m",
                middle - half,
                middle + half
            ),
            format!("move it or make it narrower: the room is {:.2} m {wall}", high - low),
        );
    }
    let top = window.sill.metres + window.height.metres;
    if top >= bounds.height {
        faults.add(
            &at.field("height"),
            format!("its upper edge is at {top:.2} m, the ceiling at {:.2} m", bounds.height),
            "lower the sill or make it less high",
        );
    }
}
