//! Modifiers and what is put on them: grids, doors, cloth.

use super::{At, Faults};
use crate::plan::{Length, Light, Modifier};

pub(super) fn modifier(faults: &mut Faults, light_at: &At, light: &Light) {
    let at = &light_at.field("modifier");
    let loss = |faults: &mut Faults, loss: f64| {
        faults.range(&at.field("loss"), loss, 0.0, 10.0, "stops");
    };
    let size = |faults: &mut Faults, name: &str, length: Length, most: f64| {
        faults.length(&at.field(name), length, 0.01, most);
    };
    match &light.modifier {
        Modifier::BareTube { diameter, length } => {
            faults.length(&at.field("diameter"), *diameter, 0.001, 0.5);
            faults.length(&at.field("length"), *length, 0.001, 2.0);
        }
        Modifier::Lantern { diameter, loss: stops } => {
            size(faults, "diameter", *diameter, 4.0);
            loss(faults, *stops);
        }
        Modifier::Dish { diameter, beam, field, loss: stops }
        | Modifier::ShortDish { diameter, beam, field, loss: stops }
        | Modifier::LongThrow { diameter, beam, field, loss: stops } => {
            size(faults, "diameter", *diameter, 3.0);
            angles(faults, at, *beam, *field);
            loss(faults, *stops);
        }
        Modifier::BeautyDish { diameter, deflector, beam, field, loss: stops } => {
            size(faults, "diameter", *diameter, 3.0);
            hole(faults, &at.field("deflector"), *deflector, *diameter, "deflector");
            angles(faults, at, *beam, *field);
            loss(faults, *stops);
        }
        Modifier::Ring { diameter, hole: inner, beam, field, loss: stops } => {
            size(faults, "diameter", *diameter, 3.0);
            hole(faults, &at.field("hole"), *inner, *diameter, "hole");
            angles(faults, at, *beam, *field);
            loss(faults, *stops);
        }
        Modifier::Snoot { diameter, length, loss: stops } => {
            size(faults, "diameter", *diameter, 1.0);
            size(faults, "length", *length, 2.0);
            loss(faults, *stops);
        }
        Modifier::LensSpot { diameter, beam, focus, shutters, loss: stops } => {
            size(faults, "diameter", *diameter, 1.0);
            faults.range(&at.field("beam"), *beam, 2.0, 90.0, "degrees across");
            faults.length(&at.field("focus"), *focus, 0.3, 100.0);
            let at = at.field("shutters");
            for (name, own, other, opposite) in [
                ("left", shutters.left, shutters.right, "right"),
                ("right", shutters.right, shutters.left, "left"),
                ("top", shutters.top, shutters.bottom, "bottom"),
                ("bottom", shutters.bottom, shutters.top, "top"),
            ] {
                faults.share(&at.field(name), own);
                if own + other >= 1.0 && own >= other {
                    faults.add(
                        &at.field(name),
                        format!("it meets the blade `{opposite}` and shuts the gate"),
                        "let the two opposite blades cover less than 1 together",
                    );
                    break;
                }
            }
            loss(faults, *stops);
        }
        Modifier::Panel { width, height, loss: stops } => {
            size(faults, "width", *width, 10.0);
            size(faults, "height", *height, 10.0);
            loss(faults, *stops);
        }
        Modifier::SoftBox { width, height, recess, hot, beam, loss: stops } => {
            size(faults, "width", *width, 10.0);
            size(faults, "height", *height, 10.0);
            soft(faults, at, *recess, *hot, *beam);
            loss(faults, *stops);
        }
        Modifier::Octagon { diameter, recess, hot, beam, loss: stops } => {
            size(faults, "diameter", *diameter, 10.0);
            soft(faults, at, *recess, *hot, *beam);
            loss(faults, *stops);
        }
        Modifier::BounceUmbrella { diameter, hot, beam, loss: stops } => {
            size(faults, "diameter", *diameter, 4.0);
            soft(faults, at, Length::default(), *hot, *beam);
            loss(faults, *stops);
        }
        Modifier::ShootThrough { diameter, hot, beam, spill, loss: stops } => {
            size(faults, "diameter", *diameter, 4.0);
            soft(faults, at, Length::default(), *hot, *beam);
            faults.share(&at.field("spill"), *spill);
            loss(faults, *stops);
        }
        Modifier::Scrim { width, height, behind, transmission, beam, field, loss: stops } => {
            size(faults, "width", *width, 10.0);
            size(faults, "height", *height, 10.0);
            faults.length(&at.field("behind"), *behind, 0.15, 10.0);
            faults.range(&at.field("transmission"), *transmission, 0.01, 0.95, "(a share)");
            angles(faults, at, *beam, *field);
            loss(faults, *stops);
        }
        Modifier::Photometric { file, diameter, loss: stops } => {
            faults.file(&at.field("file"), file, "a photometric file (.ies or .ldt)");
            if let Some(diameter) = diameter {
                size(faults, "diameter", *diameter, 10.0);
            }
            loss(faults, *stops);
        }
    }
    accessories(faults, light_at, light);
}

/// Beam inside field.
pub(super) fn angles(faults: &mut Faults, at: &At, beam: f64, field: f64) {
    let (beam_at, field_at) = (at.field("beam"), at.field("field"));
    faults.range(&beam_at, beam, 1.0, 170.0, "degrees across");
    if field <= beam {
        faults.add(
            &field_at,
            format!("the field angle {field}° is not wider than the beam angle {beam}°"),
            "the field (10 % of the peak) lies outside the beam (50 %), such as 55 and 85",
        );
    } else {
        faults.range(&field_at, field, 1.0, 179.0, "degrees across");
    }
}

fn soft(faults: &mut Faults, at: &At, recess: Length, hot: f64, beam: f64) {
    faults.length(&at.field("recess"), recess, 0.0, 1.0);
    faults.range(&at.field("hot"), hot, 0.0, 5.0, "stops from the middle to the end");
    faults.range(&at.field("beam"), beam, 20.0, 150.0, "degrees across (120 diffuses fully)");
}

fn hole(faults: &mut Faults, at: &At, inner: Length, outer: Length, what: &str) {
    if inner.metres > 0.9 * outer.metres {
        faults.add(
            at,
            format!("a {what} of {inner} leaves no front of {outer}"),
            format!("keep it under {}", Length::metres(0.9 * outer.metres)),
        );
    } else {
        faults.length(at, inner, 0.005, 3.0);
    }
}

/// What is on a front, and whether that front can carry it.
fn accessories(faults: &mut Faults, at: &At, light: &Light) {
    let kind = light.modifier.name();
    let open = light.modifier.open_dish().is_some()
        || matches!(light.modifier, Modifier::BeautyDish { .. } | Modifier::Ring { .. });
    let boxed = matches!(
        light.modifier,
        Modifier::Panel { .. } | Modifier::SoftBox { .. } | Modifier::Octagon { .. }
    );
    let misfit = |faults: &mut Faults, field: &str, what: &str, on: &str| {
        faults.add(
            &at.field(field),
            format!("a {kind} takes no {what}"),
            format!("use it on {on}"),
        );
    };
    if let Some(degrees) = light.grid {
        if open || boxed {
            faults.range(&at.field("grid"), degrees, 3.0, 120.0, "degrees (10 to 60 are usual)");
        } else {
            misfit(faults, "grid", "grid", "a dish, a beauty dish or a soft box");
        }
    }
    if let Some(doors) = &light.doors {
        let at = &at.field("doors");
        if !open {
            misfit(faults, "doors", "barn doors", "a dish");
        }
        for (name, degrees) in [
            ("top", doors.top),
            ("bottom", doors.bottom),
            ("left", doors.left),
            ("right", doors.right),
        ] {
            faults.range(
                &at.field(name),
                degrees,
                -60.0,
                120.0,
                "degrees from the axis (90 is wide open)",
            );
        }
        if let Some(length) = doors.length {
            faults.length(&at.field("length"), length, 0.02, 1.0);
        }
    }
    if let Some(cloth) = &light.cloth {
        let at = &at.field("cloth");
        if !open {
            misfit(faults, "cloth", "diffusing cloth", "a dish; a soft box has its own");
        }
        if let Some(diameter) = cloth.diameter {
            faults.length(&at.field("diameter"), diameter, 0.02, 3.0);
        }
        faults.range(&at.field("loss"), cloth.loss, 0.0, 6.0, "stops");
        soft(faults, at, Length::default(), cloth.hot, cloth.beam);
    }
    if light.head.tube.is_some() && (!open || light.cloth.is_some()) {
        faults.add(
            &at.field("head").field("tube"),
            format!("the tube does not show in {}", if open { "a front with cloth" } else { kind }),
            "leave it out, or use an open dish",
        );
    }
    if light.head.output == crate::plan::Output::AsFiled
        && !matches!(light.modifier, Modifier::Photometric { .. })
    {
        faults.add(
            &at.field("head").field("output"),
            format!("a {kind} has no photometric file to take its level from"),
            "write modifier: Photometric(file: \"lamp.ies\"), or give Lumens",
        );
    }
}
