//! The set seen from anywhere, and the hands that move what stands in it.

use eframe::egui;
use egui::{Color32, PointerButton, Pos2, Rect, Sense, Stroke, Ui, pos2, vec2};
use glam::{Vec2, Vec3};

use super::{glyph, ruler, screen};
use crate::plan::{Place, Plan, Target};
use crate::stage::Stage;
use crate::window::app::App;
use crate::window::edits::{self, Pick, Snap};
use crate::window::entry::show_metres;
use crate::window::orbit::{Eye, Orbit, around};
use crate::window::solid::Sight;
use crate::window::theme;

/// What the pointer holds.
#[derive(Debug, Clone, PartialEq)]
enum Hold {
    /// A thing itself.
    Body(Pick),
    /// What it is aimed at.
    Aim(Pick),
    /// The view.
    View,
}

/// A thing that can be taken hold of.
struct Handle {
    pick: Pick,
    /// World metres.
    at: Vec3,
    /// Where it is aimed, if it is.
    aim: Option<Vec3>,
    /// In the view.
    seen: Pos2,
}

pub fn show(app: &mut App, ui: &mut Ui, rect: Rect) {
    let response = ui.interact(rect, ui.scope_id().with("set"), Sense::click_and_drag());
    response.widget_info(|| {
        egui::WidgetInfo::labeled(
            egui::Role::Canvas,
            true,
            "the set; drag to turn, wheel to zoom, middle drag to move",
        )
    });
    let size = Vec2::new(rect.width(), rect.height());
    let Some(standing) = app.standing() else { return };
    let stage = standing.stage.clone();
    let eye = app.orbit.eye(size);
    let handles = handles(&standing.plan, &stage, &eye, rect);
    hands(app, ui, rect, &eye, &stage, &handles, &response);
    // drawn from where the eye is now
    let eye = app.orbit.eye(size);
    let pixels = ui.ctx().pixels_per_point().min(1.5);
    let ground = theme::surround(app.is_dark());
    app.solid.ask(Sight {
        stage: stage.clone(),
        eye: app.orbit.eye((size * pixels).round()),
        ground: [ground.r(), ground.g(), ground.b()],
    });
    let painter = ui.painter_at(rect);
    if let Some(drawing) = app.solid.drawing()
        && let Some(texture) =
            screen(&mut app.screens.solid, ui, "solid", drawing.number, drawing.size, &drawing.rgb)
    {
        let whole = Rect::from_min_max(Pos2::ZERO, pos2(1.0, 1.0));
        painter.image(texture.id(), rect, whole, Color32::WHITE);
    }
    marks(app, &painter, rect, &eye, &stage, &standing.plan);
    views(app, ui, rect);
}

fn on_screen(eye: &Eye, rect: Rect, point: Vec3) -> Option<Pos2> {
    eye.project(point).map(|(at, _)| rect.min + vec2(at.x, at.y))
}

/// World point of a target for something at `from`.
fn aim_point(plan: &Plan, stage: &Stage, pick: &Pick, from: Vec3, axis: Vec3) -> Option<Vec3> {
    let target = edits::aim_of(plan, pick)?;
    let mark = |name: &str| stage.marks.iter().find(|mark| mark.name == name).map(|m| m.position);
    Some(match target {
        Target::Named(name) => mark(name)?,
        Target::Point { x, y, z } => Vec3::new(x.metres as f32, y.metres as f32, z.metres as f32),
        Target::Ceiling => Vec3::new(from.x, stage.room.max.y, from.z),
        Target::Toward { .. } => from + axis,
        Target::Mark => Vec3::ZERO,
        target => {
            ruler::mark_of(target).and_then(mark).unwrap_or(Vec3::Y * crate::stage::ABSENT_FACE_M)
        }
    })
}

fn handles(plan: &Plan, stage: &Stage, eye: &Eye, rect: Rect) -> Vec<Handle> {
    let mut found = Vec::new();
    let mut push = |pick: Pick, at: Vec3, axis: Vec3| {
        if let Some(seen) = on_screen(eye, rect, at) {
            let aim = aim_point(plan, stage, &pick, at, axis);
            found.push(Handle { pick, at, aim, seen });
        }
    };
    for light in stage.lights.iter().filter(|light| !light.is_room) {
        push(Pick::Light(light.name.clone()), light.source.position, light.source.axis);
    }
    for board in &plan.boards {
        if let Some(mark) = stage.marks.iter().find(|mark| mark.name == board.name) {
            push(Pick::Board(board.name.clone()), mark.position, mark.facing);
        }
    }
    for one in &plan.boxes {
        if let Some(mark) = stage.marks.iter().find(|mark| mark.name == one.name) {
            push(Pick::Box(one.name.clone()), mark.position, Vec3::Y);
        }
    }
    push(Pick::Camera, stage.camera.position, stage.camera.forward);
    if plan.sitter.is_some()
        && let Some(hips) = stage.marks.iter().find(|mark| mark.name == "hips")
    {
        push(Pick::Sitter, hips.position, Vec3::Z);
    }
    found
}

fn hands(
    app: &mut App,
    ui: &mut Ui,
    rect: Rect,
    eye: &Eye,
    stage: &Stage,
    handles: &[Handle],
    response: &egui::Response,
) {
    let id = response.id.with("hold");
    let (shift, free) = ui.input(|input| (input.modifiers.shift, input.modifiers.command));
    if response.hovered() {
        let (scroll, zoom) = ui.input(|input| (input.smooth_scroll_delta().y, input.zoom_delta()));
        app.orbit.zoom(scroll + 300.0 * (zoom - 1.0));
    }
    let chosen = app.pick.clone();
    let near = |at: Pos2| {
        // the aim of what is picked lies over all else
        let picked = handles.iter().find(|handle| handle.pick == chosen);
        let aim = picked.and_then(|handle| on_screen(eye, rect, handle.aim?));
        if let (Some(aim), Some(handle)) = (aim, picked)
            && aim.distance(at) < 9.0
            && handle.seen.distance(at) > 9.0
        {
            return Some(Hold::Aim(handle.pick.clone()));
        }
        let nearest =
            |a: &&Handle, b: &&Handle| a.seen.distance(at).total_cmp(&b.seen.distance(at));
        let found = handles.iter().filter(|handle| handle.seen.distance(at) < 15.0).min_by(nearest);
        found.map(|handle| Hold::Body(handle.pick.clone()))
    };
    if let Some(at) = response.hover_pos().filter(|_| !response.dragged())
        && let Some(hold) = near(at)
    {
        let (Hold::Body(pick) | Hold::Aim(pick)) = &hold else { return };
        let aim = matches!(hold, Hold::Aim(_));
        let what = if aim { format!("aim of {}", pick.label()) } else { pick.label() };
        let (ink, ground) = ruler::on_picture();
        let painter = ui.ctx().layer_painter(egui::LayerId::new(egui::Order::Tooltip, id));
        glyph::tag(&painter, rect, at + vec2(14.0, 10.0), &what, ink, ground);
        ui.ctx().set_cursor_icon(egui::CursorIcon::Grab);
    }
    let origin = ui.input(|input| input.pointer.press_origin());
    if response.clicked()
        && let Some(at) = response.interact_pointer_pos()
        && let Some(Hold::Body(pick) | Hold::Aim(pick)) = near(at)
    {
        app.pick = pick;
    }
    if response.drag_started() {
        let primary = ui.input(|input| input.pointer.button_down(PointerButton::Primary));
        let hold = origin.filter(|_| primary).and_then(near).unwrap_or(Hold::View);
        if let Hold::Body(pick) | Hold::Aim(pick) = &hold {
            app.pick = pick.clone();
        }
        ui.data_mut(|data| data.insert_temp(id, hold));
    }
    if !response.dragged() {
        return;
    }
    let drag = Vec2::new(response.drag_delta().x, response.drag_delta().y);
    let pointer = response.interact_pointer_pos().unwrap_or(rect.center());
    let at = Vec2::new(pointer.x - rect.left(), pointer.y - rect.top());
    match ui.data(|data| data.get_temp::<Hold>(id)) {
        Some(Hold::Body(pick)) => {
            if app.locked.contains(&pick) {
                app.say(format!("{} is locked in place (L unlocks it)", pick.label()));
                return;
            }
            let snap = match (shift, free) {
                (_, true) => Snap::FREE,
                (true, _) => Snap::WIDE,
                _ => Snap::USUAL,
            };
            if let Some(handle) = handles.iter().find(|handle| handle.pick == pick) {
                move_body(app, eye, stage, handle, at, snap);
            }
        }
        Some(Hold::Aim(pick)) => {
            if let Some(handle) = handles.iter().find(|handle| handle.pick == pick) {
                move_aim(app, eye, stage, handle, at);
            }
        }
        _ => {
            let middle = ui.input(|input| input.pointer.button_down(PointerButton::Middle));
            if middle || shift {
                app.orbit.pan(drag, Vec2::new(rect.width(), rect.height()));
            } else {
                app.orbit.turn(drag);
            }
        }
    }
}

/// Moves a thing so that it stays under the pointer: what goes round the sitter on its sphere, the
/// rest on the level it is at.
fn move_body(app: &mut App, eye: &Eye, stage: &Stage, handle: &Handle, at: Vec2, snap: Snap) {
    let pick = &handle.pick;
    let plan = app.plan().clone();
    let group = format!("drag {}", pick.label());
    let what = format!("Move {}", pick.label());
    match edits::place_of(&plan, pick) {
        Some(Place::Around { azimuth, elevation, distance, .. }) => {
            let out = crate::window::orbit::direction(*azimuth as f32, *elevation as f32);
            let centre = handle.at - out * distance.metres as f32;
            let behind = (handle.at - centre).dot(eye.forward) > 0.0;
            let point = eye.on_sphere(at, centre, distance.metres as f32, behind);
            let inside = point.clamp(stage.room.min + 0.05, stage.room.max - 0.05);
            app.edit(&what, Some(&group), |plan| {
                if let Some(place) = edits::place_mut(plan, pick) {
                    let kept = match place {
                        Place::Around { distance, .. } => *distance,
                        _ => return,
                    };
                    edits::move_to(place, inside, centre, snap);
                    // on its sphere, unless a wall is nearer
                    if let Place::Around { distance, .. } = place
                        && (inside - point).length() < 1e-4
                    {
                        *distance = kept;
                    }
                }
            });
        }
        Some(_) => {
            // from the side a level plane is seen edge on: there it is moved in the view's own
            let level =
                (eye.forward.y.abs() > 0.15).then(|| eye.on_level(at, handle.at.y)).flatten();
            let seen = eye.project(handle.at).map_or(at, |(seen, _)| seen);
            let point = level.unwrap_or_else(|| eye.dragged(handle.at, at - seen));
            let point = point.clamp(stage.room.min + 0.05, stage.room.max - 0.05);
            app.edit(&what, Some(&group), |plan| {
                if let Some(place) = edits::place_mut(plan, pick) {
                    edits::move_to(place, point, Vec3::ZERO, snap);
                }
            });
        }
        None => {
            let Some(point) = eye.on_level(at, handle.at.y) else { return };
            let by = point - handle.at;
            let step = |value: f64, by: f32| {
                let step = snap.metres.max(0.001);
                ((value + f64::from(by)) / step).round() * step
            };
            app.edit(&what, Some(&group), |plan| match pick {
                Pick::Box(name) => {
                    if let Some(one) = plan.boxes.iter_mut().find(|one| one.name == *name) {
                        one.x = edits::like(&one.x, step(one.x.metres, by.x));
                        one.z = edits::like(&one.z, step(one.z.metres, by.z));
                    }
                }
                Pick::Sitter => {
                    if let Some(one) = &mut plan.sitter {
                        one.x = edits::like(&one.x, step(one.x.metres, by.x));
                        one.z = edits::like(&one.z, step(one.z.metres, by.z));
                    }
                }
                _ => {}
            });
        }
    }
}

/// Moves an aim: onto a named part where it comes near one, else to a point.
fn move_aim(app: &mut App, eye: &Eye, stage: &Stage, handle: &Handle, at: Vec2) {
    const PARTS: [Target; 7] = [
        Target::Face,
        Target::Chest,
        Target::Hips,
        Target::Crown,
        Target::LeftHand,
        Target::RightHand,
        Target::Feet,
    ];
    let seen = |name: &str| {
        let mark = stage.marks.iter().find(|mark| mark.name == name)?;
        eye.project(mark.position).map(|(seen, _)| seen)
    };
    let mut targets: Vec<(Target, Vec2)> = PARTS
        .into_iter()
        .filter_map(|target| {
            let place = seen(ruler::mark_of(&target)?)?;
            Some((target, place))
        })
        .collect();
    for cloth in &app.plan().cloths {
        if let Some(place) = seen(&cloth.name) {
            targets.push((Target::Named(cloth.name.clone()), place));
        }
    }
    let nearest = targets.into_iter().min_by(|a, b| a.1.distance(at).total_cmp(&b.1.distance(at)));
    let target = match (nearest, handle.aim) {
        (Some((target, place)), _) if place.distance(at) < 14.0 => target,
        (_, Some(aim)) => {
            let now = eye.project(aim).map_or(at, |(seen, _)| seen);
            let point = eye.dragged(aim, at - now);
            let cm = |v: f32| ruler::metres((v * 100.0).round() / 100.0);
            Target::Point { x: cm(point.x), y: cm(point.y), z: cm(point.z) }
        }
        _ => return,
    };
    let pick = handle.pick.clone();
    let group = format!("aim {}", pick.label());
    app.edit(&format!("Aim {}", pick.label()), Some(&group), |plan| {
        if let Some(aim) = edits::aim_mut(plan, &pick) {
            *aim = target;
        }
    });
}

/// Signs over the solids: lights with their aims, the camera with its frame, what is picked.
fn marks(app: &App, painter: &egui::Painter, rect: Rect, eye: &Eye, stage: &Stage, plan: &Plan) {
    let dark = app.is_dark();
    let (ink, ground) = ruler::on_picture();
    frame(painter, rect, eye, stage);
    for handle in handles(plan, stage, eye, rect) {
        let picked = handle.pick == app.pick;
        let color = match &handle.pick {
            Pick::Light(name) => theme::light(app.number(name), dark),
            _ => Color32::WHITE,
        };
        if (picked || matches!(handle.pick, Pick::Light(_)))
            && let Some(aim) = handle.aim.and_then(|aim| on_screen(eye, rect, aim))
        {
            let width = if picked { 1.75 } else { 0.75 };
            glyph::arrow(painter, handle.seen, aim, Stroke::new(width, color));
            if picked {
                painter.circle_stroke(aim, 5.0, Stroke::new(1.5, color));
            }
        }
        match &handle.pick {
            Pick::Light(name) => {
                let on = plan.lights.iter().any(|light| light.name == *name && light.on);
                painter.circle_filled(handle.seen, 9.0, Color32::from_black_alpha(130));
                glyph::light(painter, handle.seen, 6.5, app.number(name), on, true);
            }
            Pick::Camera => {
                let body = Rect::from_center_size(handle.seen, vec2(14.0, 10.0));
                painter.rect_filled(body, 2.0, Color32::from_black_alpha(170));
                painter.rect_stroke(
                    body,
                    2.0,
                    Stroke::new(1.5, Color32::WHITE),
                    egui::StrokeKind::Inside,
                );
                painter.circle_stroke(handle.seen, 3.0, Stroke::new(1.25, Color32::WHITE));
            }
            _ => {
                painter.circle_filled(handle.seen, 4.0, Color32::from_black_alpha(150));
                painter.circle_stroke(handle.seen, 4.0, Stroke::new(1.25, color));
            }
        }
        if picked {
            painter.circle_stroke(handle.seen, 12.0, Stroke::new(1.5, Color32::WHITE));
        }
        if picked || matches!(handle.pick, Pick::Light(_)) {
            let mut text = handle.pick.label();
            if picked {
                text = format!("{text}  {}", whereabouts(app, &handle, stage));
            }
            if app.locked.contains(&handle.pick) {
                text.push_str("  locked");
            }
            glyph::tag(painter, rect, handle.seen + vec2(13.0, -22.0), &text, ink, ground);
        }
    }
}

/// Azimuth, elevation and distance from the face.
fn whereabouts(app: &App, handle: &Handle, stage: &Stage) -> String {
    let (face, _) = crate::meter::held_at(stage, "face");
    let (azimuth, elevation, distance) = match edits::place_of(app.plan(), &handle.pick) {
        Some(Place::Around { azimuth, elevation, distance, .. }) => {
            (*azimuth as f32, *elevation as f32, distance.metres as f32)
        }
        Some(_) => around(handle.at, face),
        None => return String::new(),
    };
    let metres = f64::from((distance * 100.0).round() / 100.0);
    let side = if azimuth < 0.0 { "left" } else { "right" };
    format!(
        "{:.0}° {side}, {elevation:.0}° up, {}",
        azimuth.abs(),
        show_metres(metres, app.preferences.feet)
    )
    .replace('-', "−")
}

/// The frame of the camera at the plane of focus.
fn frame(painter: &egui::Painter, rect: Rect, eye: &Eye, stage: &Stage) {
    let camera = &stage.camera;
    let half = camera.half_frame();
    let focus = camera.focus_m as f32;
    let corner = |x: f32, y: f32| {
        let to = camera.forward + camera.right * (x * half.x) + camera.up * (y * half.y);
        on_screen(eye, rect, camera.position + to * focus)
    };
    let corners = [corner(-1.0, 1.0), corner(1.0, 1.0), corner(1.0, -1.0), corner(-1.0, -1.0)];
    let stroke = Stroke::new(0.75, Color32::from_white_alpha(120));
    let lens = on_screen(eye, rect, camera.position);
    for i in 0..4 {
        if let (Some(a), Some(b)) = (corners[i], corners[(i + 1) % 4]) {
            painter.line_segment([a, b], stroke);
        }
        if let (Some(a), Some(lens)) = (corners[i], lens) {
            painter.line_segment([a, lens], Stroke::new(0.5, Color32::from_white_alpha(60)));
        }
    }
}

/// Ready views.
fn views(app: &mut App, ui: &mut Ui, rect: Rect) {
    let place =
        Rect::from_min_size(rect.left_bottom() - vec2(-6.0, 30.0), vec2(rect.width() - 12.0, 26.0));
    let mut inner = ui.new_child(
        egui::UiBuilder::new()
            .max_rect(place)
            .layout(egui::Layout::left_to_right(egui::Align::Center)),
    );
    for (name, turn) in [("Above", Orbit::ABOVE), ("Front", Orbit::FRONT), ("Side", Orbit::SIDE)] {
        if inner.button(name).on_hover_text("See the set from here").clicked() {
            (app.orbit.azimuth, app.orbit.elevation) = turn;
        }
    }
    if inner.button("Corner").on_hover_text("As the window opened").clicked() {
        app.orbit = Orbit::default();
    }
}
