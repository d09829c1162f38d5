//! Numbers of camera, sitter, cloth, boxes, room and development.

use eframe::egui;
use egui::{RichText, Ui};

use super::numbers::{choice, flag, length, plain, typed};
use super::numbers_light::{aim, place};
use crate::plan::{
    Ambient, Aperture, Cloth, ClothShape, Diffusion, Extent, Finish, Framing, HairStyle, Pose,
    SetBox, Shutter, Sitter, Target, Tone,
};
use crate::window::app::App;
use crate::window::edits;

/// The camera.
pub fn camera(app: &mut App, ui: &mut Ui) {
    let plan = app.plan().clone();
    let camera = &plan.camera;
    let aperture = camera.aperture;
    typed(
        app,
        ui,
        "Aperture",
        &aperture.to_string(),
        |steps| edits::turn_aperture(aperture, steps as i32),
        |plan, v: Aperture| {
            plan.camera.aperture = v;
        },
    );
    let shutter = camera.shutter;
    typed(
        app,
        ui,
        "Shutter",
        &shutter.to_string(),
        |steps| edits::turn_shutter(shutter, steps as i32),
        |plan, v: Shutter| {
            plan.camera.shutter = v;
        },
    );
    typed(
        app,
        ui,
        "ISO",
        &format!("{:.0}", camera.iso),
        |steps| edits::turn_iso(camera.iso, steps as i32),
        |plan, v: f64| {
            plan.camera.iso = v;
        },
    );
    plain(app, ui, "White", (camera.white_balance, " K", 100.0), |plan, v| {
        plan.camera.white_balance = v
    });
    plain(app, ui, "Focal", (camera.focal_mm, " mm", 5.0), |plan, v| plan.camera.focal_mm = v);
    plain(app, ui, "ND", (camera.nd.stops, " stops", 1.0), |plan, v| plan.camera.nd.stops = v);
    let filters = [(0.0, "none"), (0.125, "1/8"), (0.25, "1/4"), (0.5, "1/2"), (1.0, "1")];
    let filters = filters.map(|(strength, name)| (Diffusion { strength }, name));
    choice(app, ui, "Diffusion", &camera.diffusion, &filters, |plan, v| plan.camera.diffusion = v);
    flag(app, ui, "Held upright", camera.upright, |plan, v| plan.camera.upright = v);
    ui.separator();
    let frame = |part: Extent, height: f64| {
        Some(Framing { part, height, by: Default::default(), rise: 0.0 })
    };
    let mut framings = vec![
        (None, "by hand"),
        (frame(Extent::Head, 0.6), "head"),
        (frame(Extent::HeadAndShoulders, 0.8), "head and shoulders"),
        (frame(Extent::Bust, 0.85), "bust"),
        (frame(Extent::HalfLength, 0.88), "half length"),
        (frame(Extent::ThreeQuarter, 0.9), "three-quarter"),
        (frame(Extent::FullLength, 0.9), "full length"),
    ];
    if !framings.iter().any(|(one, _)| *one == camera.framing) {
        framings.push((camera.framing.clone(), "as in the plan"));
    }
    choice(app, ui, "Framing", &camera.framing, &framings, |plan, v| plan.camera.framing = v);
    if let Some(framing) = &camera.framing {
        plain(app, ui, "Fills", (100.0 * framing.height, " %", 5.0), |plan, v| {
            if let Some(framing) = &mut plan.camera.framing {
                framing.height = v / 100.0;
            }
        });
    }
    place(app, ui, &camera.place);
    aim(app, ui, &camera.aim);
    let focus = [
        (Target::NearEye, "nearer eye"),
        (Target::Face, "face"),
        (Target::Chest, "chest"),
        (Target::RightHand, "right hand"),
        (Target::LeftHand, "left hand"),
    ];
    choice(app, ui, "Focus", &camera.focus, &focus, |plan, v| plan.camera.focus = v);
    if camera.shutter.seconds < camera.sync.seconds && !camera.high_speed_sync {
        let text = format!("shorter than sync, {}: a dark band", camera.sync);
        ui.label(RichText::new(text).weak());
    }
}

/// The person.
pub fn sitter(app: &mut App, ui: &mut Ui) {
    let plan = app.plan().clone();
    let Some(now) = &plan.sitter else { return };
    let with = |plan: &mut crate::plan::Plan, change: &dyn Fn(&mut Sitter)| {
        if let Some(sitter) = &mut plan.sitter {
            change(sitter);
        }
    };
    plain(app, ui, "Turn", (now.turn, "°", 5.0), |plan, v| with(plan, &|s| s.turn = v));
    plain(app, ui, "Head turn", (now.head.turn, "°", 5.0), |plan, v| {
        with(plan, &|s| s.head.turn = v)
    });
    plain(app, ui, "Head tilt", (now.head.tilt, "°", 2.0), |plan, v| {
        with(plan, &|s| s.head.tilt = v)
    });
    plain(app, ui, "Head nod", (now.head.nod, "°", 2.0), |plan, v| {
        with(plan, &|s| s.head.nod = v)
    });
    let mut poses = vec![
        (Pose::Standing, "standing"),
        (Pose::Contrapposto, "weight on one leg"),
        (Pose::SeatedOnFloor, "on the floor"),
    ];
    if now.pose == Pose::SeatedOnBox || !plan.boxes.is_empty() {
        poses.push((Pose::SeatedOnBox, "on a box"));
    }
    let first_box = plan.boxes.first().map(|one| one.name.clone());
    choice(app, ui, "Pose", &now.pose, &poses, |plan, v| {
        with(plan, &|s| {
            s.pose = v;
            s.seat = match v {
                Pose::SeatedOnBox => s.seat.clone().or(first_box.clone()),
                _ => None,
            };
        });
    });
    length(app, ui, "Right", &now.x, |plan, v| with(plan, &|s| s.x = v));
    length(app, ui, "Forward", &now.z, |plan, v| with(plan, &|s| s.z = v));
    ui.separator();
    length(app, ui, "Height", &now.height, |plan, v| with(plan, &|s| s.height = v));
    plain(app, ui, "Build", (now.build, "", 0.1), |plan, v| with(plan, &|s| s.build = v));
    plain(app, ui, "Skin", (f64::from(now.skin), " of 10", 1.0), |plan, v| {
        with(plan, &|s| s.skin = v.round().clamp(1.0, 10.0) as u8);
    });
    plain(app, ui, "Sheen", (now.sheen, "", 0.1), |plan, v| with(plan, &|s| s.sheen = v));
    let hair = [
        (HairStyle::Bald, "none"),
        (HairStyle::Cropped, "cropped"),
        (HairStyle::Volume, "full"),
        (HairStyle::Bob, "to the jaw"),
        (HairStyle::Bun, "gathered"),
    ];
    choice(app, ui, "Hair", &now.hair.style, &hair, |plan, v| with(plan, &|s| s.hair.style = v));
}

/// A cloth.
pub fn cloth(app: &mut App, ui: &mut Ui, name: &str) {
    let plan = app.plan().clone();
    let Some(cloth) = plan.cloths.iter().find(|one| one.name == name) else { return };
    let with = |plan: &mut crate::plan::Plan, change: &dyn Fn(&mut Cloth)| {
        if let Some(cloth) = plan.cloths.iter_mut().find(|one| one.name == name) {
            change(cloth);
        }
    };
    if let Some(reflectance) = cloth.fabric.paint.reflectance {
        plain(app, ui, "Reflects", (100.0 * reflectance, " %", 5.0), |plan, v| {
            with(plan, &|c| c.fabric.paint.reflectance = Some(v / 100.0));
        });
    }
    let finishes = [(Finish::Matte, "matt"), (Finish::Satin, "satin"), (Finish::Velvet, "velvet")];
    choice(app, ui, "Finish", &cloth.fabric.finish, &finishes, |plan, v| {
        with(plan, &|c| c.fabric.finish = v)
    });
    plain(app, ui, "Creases", (cloth.creases, "", 0.1), |plan, v| with(plan, &|c| c.creases = v));
    plain(app, ui, "Folds", (cloth.folds, "", 0.1), |plan, v| with(plan, &|c| c.folds = v));
    match &cloth.shape {
        ClothShape::Backdrop { width: w, top: t, behind: b, sweep: s, .. } => {
            length(app, ui, "Width", w, |plan, v| {
                with(plan, &|c| {
                    if let ClothShape::Backdrop { width, .. } = &mut c.shape {
                        *width = v
                    }
                })
            });
            length(app, ui, "Top", t, |plan, v| {
                with(plan, &|c| {
                    if let ClothShape::Backdrop { top, .. } = &mut c.shape {
                        *top = v
                    }
                })
            });
            length(app, ui, "Behind", b, |plan, v| {
                with(plan, &|c| {
                    if let ClothShape::Backdrop { behind, .. } = &mut c.shape {
                        *behind = v
                    }
                })
            });
            length(app, ui, "Sweep", s, |plan, v| {
                with(plan, &|c| {
                    if let ClothShape::Backdrop { sweep, .. } = &mut c.shape {
                        *sweep = v
                    }
                })
            });
        }
        _ => {
            ui.label(RichText::new("Its shape is set in the plan's file; the window follows when you save it there.").weak());
        }
    }
}

/// A box.
pub fn set_box(app: &mut App, ui: &mut Ui, name: &str) {
    let plan = app.plan().clone();
    let Some(one) = plan.boxes.iter().find(|one| one.name == name) else { return };
    let with = |plan: &mut crate::plan::Plan, change: &dyn Fn(&mut SetBox)| {
        if let Some(one) = plan.boxes.iter_mut().find(|one| one.name == name) {
            change(one);
        }
    };
    length(app, ui, "Width", &one.width, |plan, v| with(plan, &|b| b.width = v));
    length(app, ui, "Tall", &one.height, |plan, v| with(plan, &|b| b.height = v));
    length(app, ui, "Deep", &one.depth, |plan, v| with(plan, &|b| b.depth = v));
    length(app, ui, "Right", &one.x, |plan, v| with(plan, &|b| b.x = v));
    length(app, ui, "Forward", &one.z, |plan, v| with(plan, &|b| b.z = v));
    plain(app, ui, "Turn", (one.turn, "°", 5.0), |plan, v| with(plan, &|b| b.turn = v));
}

/// The room and its own light.
pub fn room(app: &mut App, ui: &mut Ui) {
    let plan = app.plan().clone();
    let room = &plan.room;
    length(app, ui, "Width", &room.width, |plan, v| plan.room.width = v);
    length(app, ui, "Depth", &room.depth, |plan, v| plan.room.depth = v);
    length(app, ui, "Height", &room.height, |plan, v| plan.room.height = v);
    for (label, paint) in
        [("Walls", &room.walls), ("Ceiling", &room.ceiling), ("Floor", &room.floor)]
    {
        if let Some(reflectance) = paint.reflectance {
            plain(app, ui, label, (100.0 * reflectance, " %", 5.0), |plan, v| {
                let paint = match label {
                    "Walls" => &mut plan.room.walls,
                    "Ceiling" => &mut plan.room.ceiling,
                    _ => &mut plan.room.floor,
                };
                paint.reflectance = Some(v / 100.0);
            });
        }
    }
    ui.separator();
    flag(app, ui, "Even room light", plan.ambient.is_some(), |plan, on| {
        plan.ambient = on.then_some(Ambient { ev: 5.0, kelvin: 3000.0 });
    });
    if let Some(ambient) = &plan.ambient {
        plain(app, ui, "Level EV", (ambient.ev, "", 0.5), |plan, v| {
            if let Some(ambient) = &mut plan.ambient {
                ambient.ev = v;
            }
        });
        plain(app, ui, "Colour", (ambient.kelvin, " K", 100.0), |plan, v| {
            if let Some(ambient) = &mut plan.ambient {
                ambient.kelvin = v;
            }
        });
    }
    for (number, window) in plan.windows.iter().enumerate() {
        plain(app, ui, &window.name, (window.ev, " EV", 0.5), |plan, v| {
            if let Some(window) = plan.windows.get_mut(number) {
                window.ev = v;
            }
        });
    }
}

/// How the picture is developed.
pub fn development(app: &mut App, ui: &mut Ui) {
    let plan = app.plan().clone();
    let now = &plan.development;
    let tones = [(Tone::Neutral, "neutral"), (Tone::Straight, "straight")];
    choice(app, ui, "Tone", &now.tone, &tones, |plan, v| plan.development.tone = v);
    plain(app, ui, "Contrast", (now.contrast, "", 0.1), |plan, v| plan.development.contrast = v);
    flag(app, ui, "Monochrome", now.monochrome.is_some(), |plan, on| {
        plan.development.monochrome =
            on.then_some(crate::plan::ChannelMix { red: 0.4, green: 0.4, blue: 0.2 });
    });
}
