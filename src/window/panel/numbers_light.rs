//! Numbers of what stands on a stand: lights and boards, their place and aim.

use eframe::egui;
use egui::{RichText, Ui};

use super::numbers::{choice, flag, length, plain, text, typed};
use crate::plan::{
    Board, BoardKind, Gel, HeadClass, Length, Light, Modifier, Place, Plan, Power, Target,
};
use crate::window::app::App;
use crate::window::edits::{self, MODIFIERS, Pick};
use crate::window::entry;
use crate::window::orbit::around;

fn with(plan: &mut Plan, name: &str, change: impl FnOnce(&mut Light)) {
    if let Some(light) = edits::light_mut(plan, name) {
        change(light);
    }
}

/// A light's numbers.
pub fn light(app: &mut App, ui: &mut Ui, name: &str) {
    let plan = app.plan().clone();
    let Some(light) = plan.lights.iter().find(|light| light.name == name) else { return };
    let taken = |new: &str| plan.lights.iter().any(|light| light.name == new);
    text(app, ui, "Name", &light.name, |plan, new| {
        if !new.trim().is_empty() && !taken(&new) {
            rename(plan, name, new.trim());
        }
    });
    if let Some(renamed) =
        app.plan().lights.get(plan.lights.iter().position(|l| l.name == name).unwrap_or(0))
        && renamed.name != name
    {
        app.pick = Pick::Light(renamed.name.clone());
        return;
    }
    typed(
        app,
        ui,
        "Power",
        &light.power.display(),
        |thirds| {
            let mut turned = light.clone();
            edits::turn_power(&mut turned, thirds / 3.0);
            turned.power
        },
        |plan, power: Power| with(plan, name, |light| light.power = power),
    );
    place(app, ui, &light.place);
    aim(app, ui, &light.aim);
    ui.separator();
    let kind = edits::kind_of(&light.modifier);
    let mut options: Vec<(String, &str)> = MODIFIERS
        .iter()
        .filter_map(|kind| Some(((*kind).to_owned(), edits::modifier(kind)?.name())))
        .collect();
    if !MODIFIERS.contains(&kind.as_str()) {
        // one that needs more than a choice, a file for example
        options.push((kind.clone(), light.modifier.name()));
    }
    choice(app, ui, "Modifier", &kind, &options, |plan, kind| {
        if let Some(modifier) = edits::modifier(&kind) {
            with(plan, name, |light| {
                light.modifier = modifier;
                if !open_front(&light.modifier) {
                    light.doors = None;
                    light.cloth = None;
                }
            });
        }
    });
    modifier(app, ui, name, &light.modifier);
    let grids = [
        (None, "none"),
        (Some(10.0), "10°"),
        (Some(20.0), "20°"),
        (Some(30.0), "30°"),
        (Some(40.0), "40°"),
    ];
    choice(app, ui, "Grid", &light.grid, &grids, |plan, grid| {
        with(plan, name, |light| light.grid = grid)
    });
    let gel = |shift: f64| Some(Gel::Mired { shift, transmission: None });
    let gels = [
        (None, "none"),
        (gel(131.0), "full warm, +131"),
        (gel(66.0), "half warm, +66"),
        (gel(33.0), "quarter warm, +33"),
        (gel(-33.0), "quarter cool, −33"),
        (gel(-66.0), "half cool, −66"),
        (gel(-131.0), "full cool, −131"),
    ];
    choice(app, ui, "Gel", &light.gel, &gels, |plan, gel| {
        with(plan, name, |light| light.gel = gel)
    });
    let heads = [
        (HeadClass::Pocket70, "pocket, 70 W·s"),
        (HeadClass::Travel200, "travel, 200 W·s"),
        (HeadClass::Studio400, "studio, 400 W·s"),
        (HeadClass::Studio600, "studio, 600 W·s"),
        (HeadClass::Pack1200, "pack, 1200 W·s"),
        (HeadClass::Pack2400, "pack, 2400 W·s"),
        (HeadClass::Lamp150, "lamp, 150 W"),
    ];
    choice(app, ui, "Head", &light.head.class, &heads, |plan, class| {
        with(plan, name, |light| light.head = crate::plan::Head::of(class));
    });
    flag(app, ui, "Head and stand are seen", light.fixture, |plan, seen| {
        with(plan, name, |light| light.fixture = seen);
    });
    if let Some(standing) = app.standing()
        && let Some(light) = standing.stage.lights.iter().find(|one| one.name == name)
    {
        let (face, _) = crate::meter::held_at(&standing.stage, "face");
        let (azimuth, elevation, distance) = around(light.source.position, face);
        let feet = app.preferences.feet;
        let text = format!(
            "to the face {}, {azimuth:.0}° round, {elevation:.0}° up; {} above the floor",
            entry::show_metres(f64::from((distance * 100.0).round() / 100.0), feet),
            entry::show_metres(f64::from((light.source.position.y * 100.0).round() / 100.0), feet),
        );
        ui.label(RichText::new(text.replace('-', "−")).weak());
    }
}

/// Whether doors and cloth have a rim to hold on to.
fn open_front(modifier: &Modifier) -> bool {
    matches!(
        modifier,
        Modifier::Dish { .. }
            | Modifier::ShortDish { .. }
            | Modifier::LongThrow { .. }
            | Modifier::BeautyDish { .. }
    )
}

/// Gives a light another name, also where it is aimed at by name.
fn rename(plan: &mut Plan, old: &str, new: &str) {
    with(plan, old, |light| light.name = new.to_owned());
}

/// Size and beam of what is before the tube.
fn modifier(app: &mut App, ui: &mut Ui, name: &str, now: &Modifier) {
    // the fields that a modifier has, by the names that plans give them
    let Ok(serde_json::Value::Object(object)) = serde_json::to_value(now) else { return };
    let Some((kind, serde_json::Value::Object(fields))) = object.into_iter().next() else { return };
    for (field, value) in &fields {
        let put = |plan: &mut Plan, value: serde_json::Value| {
            let mut fields = fields.clone();
            fields.insert(field.clone(), value);
            if let Ok(made) = serde_json::from_value(serde_json::json!({ &kind: fields })) {
                with(plan, name, |light| light.modifier = made);
            }
        };
        let mut label = field.replace('_', " ");
        if let Some(first) = label.get_mut(..1) {
            first.make_ascii_uppercase();
        }
        let is_length = [
            "diameter",
            "width",
            "height",
            "length",
            "recess",
            "deflector",
            "hole",
            "behind",
            "focus",
        ]
        .contains(&field.as_str());
        if is_length {
            if let Ok(now) = serde_json::from_value::<Length>(value.clone()) {
                length(app, ui, &label, &now, |plan, new| {
                    put(plan, serde_json::to_value(new).unwrap_or_default());
                });
            }
        } else if let Some(number) = value.as_f64() {
            let (unit, step) = match field.as_str() {
                "beam" | "field" => ("°", 5.0),
                "loss" | "hot" => (" stops", 0.1),
                _ => ("", 0.05),
            };
            plain(app, ui, &label, (number, unit, step), |plan, new| {
                put(plan, serde_json::json!(new))
            });
        }
    }
}

/// Where something stands, in its own terms.
pub fn place(app: &mut App, ui: &mut Ui, now: &Place) {
    let pick = app.pick.clone();
    let put = |change: &dyn Fn(&mut Place), plan: &mut Plan| {
        if let Some(place) = edits::place_mut(plan, &pick) {
            change(place);
        }
    };
    match now {
        Place::Around { azimuth: a, elevation: e, distance: d, .. } => {
            plain(app, ui, "Round", (*a, "°", 1.0), |plan, v| {
                put(
                    &|place| {
                        if let Place::Around { azimuth, .. } = place {
                            *azimuth = v
                        }
                    },
                    plan,
                );
            });
            plain(app, ui, "Up", (*e, "°", 1.0), |plan, v| {
                put(
                    &|place| {
                        if let Place::Around { elevation, .. } = place {
                            *elevation = v
                        }
                    },
                    plan,
                );
            });
            length(app, ui, "Distance", d, |plan, v| {
                put(
                    &|place| {
                        if let Place::Around { distance, .. } = place {
                            *distance = v
                        }
                    },
                    plan,
                );
            });
        }
        Place::Stand { azimuth: a, distance: d, height: h } => {
            plain(app, ui, "Round", (*a, "°", 1.0), |plan, v| {
                put(
                    &|place| {
                        if let Place::Stand { azimuth, .. } = place {
                            *azimuth = v
                        }
                    },
                    plan,
                );
            });
            length(app, ui, "On the floor", d, |plan, v| {
                put(
                    &|place| {
                        if let Place::Stand { distance, .. } = place {
                            *distance = v
                        }
                    },
                    plan,
                );
            });
            length(app, ui, "Height", h, |plan, v| {
                put(
                    &|place| {
                        if let Place::Stand { height, .. } = place {
                            *height = v
                        }
                    },
                    plan,
                );
            });
        }
        Place::At { x: px, y: py, z: pz } => {
            length(app, ui, "Right", px, |plan, v| {
                put(
                    &|place| {
                        if let Place::At { x, .. } = place {
                            *x = v
                        }
                    },
                    plan,
                );
            });
            length(app, ui, "Height", py, |plan, v| {
                put(
                    &|place| {
                        if let Place::At { y, .. } = place {
                            *y = v
                        }
                    },
                    plan,
                );
            });
            length(app, ui, "Forward", pz, |plan, v| {
                put(
                    &|place| {
                        if let Place::At { z, .. } = place {
                            *z = v
                        }
                    },
                    plan,
                );
            });
        }
    }
}

/// What it is aimed at.
pub fn aim(app: &mut App, ui: &mut Ui, now: &Target) {
    let plan = app.plan().clone();
    let mut options: Vec<(Target, String)> = [
        (Target::Face, "face"),
        (Target::Chest, "chest"),
        (Target::Hips, "hips"),
        (Target::Crown, "crown"),
        (Target::LeftHand, "left hand"),
        (Target::RightHand, "right hand"),
        (Target::Feet, "feet"),
        (Target::Ceiling, "ceiling"),
        (Target::Mark, "stage mark"),
    ]
    .into_iter()
    .map(|(target, name)| (target, name.to_owned()))
    .collect();
    let cloths = plan.cloths.iter().map(|one| one.name.clone());
    let boards = plan.boards.iter().map(|one| one.name.clone());
    let boxes = plan.boxes.iter().map(|one| one.name.clone());
    for name in cloths.chain(boards).chain(boxes).filter(|name| *name != app.pick.label()) {
        options.push((Target::Named(name.clone()), name));
    }
    let other = match now {
        Target::Point { .. } => Some("a point"),
        Target::Toward { .. } => Some("a direction"),
        _ => None,
    };
    if let Some(other) = other {
        options.push((now.clone(), other.into()));
    }
    let options: Vec<(Target, &str)> =
        options.iter().map(|(target, name)| (target.clone(), name.as_str())).collect();
    let pick = app.pick.clone();
    choice(app, ui, "Aim", now, &options, |plan, target| {
        if let Some(aim) = edits::aim_mut(plan, &pick) {
            *aim = target;
        }
    });
    if let Target::Toward { azimuth: a, tilt: t } = now {
        let put = |plan: &mut Plan, new: Target| {
            if let Some(aim) = edits::aim_mut(plan, &pick) {
                *aim = new;
            }
        };
        plain(app, ui, "Aim round", (*a, "°", 1.0), |plan, v| {
            put(plan, Target::Toward { azimuth: v, tilt: *t })
        });
        plain(app, ui, "Aim up", (*t, "°", 1.0), |plan, v| {
            put(plan, Target::Toward { azimuth: *a, tilt: v })
        });
    }
}

/// A board's numbers.
pub fn board(app: &mut App, ui: &mut Ui, name: &str) {
    let plan = app.plan().clone();
    let Some(board) = plan.boards.iter().find(|board| board.name == name) else { return };
    let with = |plan: &mut Plan, change: &dyn Fn(&mut Board)| {
        if let Some(board) = plan.boards.iter_mut().find(|board| board.name == name) {
            change(board);
        }
    };
    let kinds = [
        (BoardKind::Flag, "black flag"),
        (BoardKind::White, "white board"),
        (BoardKind::Silver, "silver board"),
        (BoardKind::Gold, "gold board"),
        (BoardKind::Black, "black board"),
        (BoardKind::Net { stops: 1.0 }, "net, one stop"),
    ];
    choice(app, ui, "Kind", &board.kind, &kinds, |plan, kind| {
        with(plan, &|board| board.kind = kind.clone())
    });
    if let BoardKind::Net { stops } = &board.kind {
        plain(app, ui, "Takes", (*stops, " stops", 0.1), |plan, v| {
            with(plan, &|board| board.kind = BoardKind::Net { stops: v })
        });
    }
    length(app, ui, "Width", &board.width, |plan, v| with(plan, &|board| board.width = v));
    length(app, ui, "Tall", &board.height, |plan, v| with(plan, &|board| board.height = v));
    plain(app, ui, "Roll", (board.roll, "°", 5.0), |plan, v| with(plan, &|board| board.roll = v));
    flag(app, ui, "Round", board.round, |plan, v| with(plan, &|board| board.round = v));
    place(app, ui, &board.place);
    aim(app, ui, &board.aim);
}
