//! The picture through the lens, alone, with another beside or over it, or with the set.

use eframe::egui;
use egui::{Align2, Color32, FontId, Pos2, Rect, Sense, Stroke, TextureHandle, Ui, pos2, vec2};
use glam::Vec2;

use super::{fitted, glyph, ruler, screen, set};
use crate::optics::fstop::{self, Step};
use crate::picture::map;
use crate::window::act::View;
use crate::window::app::App;
use crate::window::engine::{Overlay, Status};
use crate::window::frames::{self, Compare, Other};
use crate::window::meter::{self, At, Hand};
use crate::window::theme;

/// The whole of a picture in texture terms.
const WHOLE: Rect = Rect { min: Pos2::ZERO, max: pos2(1.0, 1.0) };

/// The middle of the window.
pub fn middle(app: &mut App, ui: &mut Ui) {
    let rect = ui.max_rect();
    ui.painter().rect_filled(rect, 0.0, theme::surround(app.is_dark()));
    match app.view {
        View::Picture => picture(app, ui, rect.shrink(6.0)),
        View::Set => set::show(app, ui, rect),
        View::Both => {
            let aspect = aspect(app);
            // the picture takes the room its shape can use, the set at least two fifths
            let height = rect.height() - 12.0;
            let wide = (height * aspect + 12.0).min(0.6 * rect.width()).max(0.3 * rect.width());
            let (left, right) = rect.split_left_right_at_x(rect.left() + wide);
            picture(app, ui, left.shrink(6.0));
            ui.painter().vline(
                right.left(),
                rect.y_range(),
                ui.visuals().widgets.noninteractive.bg_stroke,
            );
            set::show(app, ui, right.with_min_x(right.left() + 1.0));
        }
    }
}

fn aspect(app: &App) -> f32 {
    match (&app.shown, app.standing()) {
        (Some(shown), _) => shown.layers.width as f32 / shown.layers.height as f32,
        (None, Some(standing)) => {
            let [w, h] = standing.stage.camera.sensor_m;
            (w / h) as f32
        }
        _ => 2.0 / 3.0,
    }
}

/// Long sides of pictures that are settled: a window that is dragged wider does not begin anew at
/// every pixel.
const SIZES: [u32; 9] = [240, 320, 400, 480, 560, 640, 800, 960, 1280];

fn picture(app: &mut App, ui: &mut Ui, rect: Rect) {
    let beside = app.comparing && app.compare == Compare::Beside && app.other.is_some();
    let (place, other_place) = match beside {
        true => {
            let (left, right) = rect.split_left_right_at_fraction(0.5);
            (left.shrink2(vec2(2.0, 0.0)), right.shrink2(vec2(2.0, 0.0)))
        }
        false => (rect, rect),
    };
    let within = fitted(place, aspect(app));
    let wanted = within.size().max_elem() * ui.ctx().pixels_per_point();
    app.picture_pixels =
        SIZES.into_iter().rfind(|size| *size as f32 <= wanted + 40.0).unwrap_or(SIZES[0]);
    let response = ui.interact(within, ui.scope_id().with("picture"), Sense::click_and_drag());
    let painter = ui.painter_at(rect);
    painter.rect_filled(within, 0.0, Color32::BLACK);
    if let Some(shown) = app.shown.clone() {
        let size = [shown.layers.width as usize, shown.layers.height as usize];
        if let Some(texture) =
            screen(&mut app.screens.picture, ui, "picture", shown.number, size, &shown.rgb)
        {
            painter.image(texture.id(), within, WHOLE, Color32::WHITE);
        }
    }
    if app.comparing && app.other.is_some() {
        other(app, ui, &painter, within, fitted(other_place, aspect(app)));
    }
    if app.grid {
        grid(&painter, within);
    }
    if app.overlay == Overlay::Stops {
        legend(&painter, within, "stops from grey");
    }
    if app.comparing && app.compare == Compare::Difference {
        legend(&painter, within, "stops over the other");
    }
    fault(app, &painter, within);
    hand(app, ui, &painter, within, &response);
    let spoken = match app.status() {
        Status::Settled { .. } => "picture through the lens, settled",
        Status::Dark => "picture through the lens, dark",
        _ => "picture through the lens",
    };
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, spoken));
    if response.dragged()
        && app.comparing
        && app.compare == Compare::Wipe
        && let Some(at) = response.interact_pointer_pos()
    {
        app.wipe = ((at.x - within.left()) / within.width()).clamp(0.0, 1.0);
    }
}

/// Why there is no picture, or why it is an old one.
fn fault(app: &App, painter: &egui::Painter, within: Rect) {
    let (ink, ground) = ruler::on_picture();
    let text = match app.status() {
        Status::Fault(fault) => {
            format!("{fault}\nThe picture is of the last set that could stand.")
        }
        Status::Dark if app.plan().lights.is_empty() => {
            "Nothing is lit.\nPut up a sitter and a key light: Set up, or + Put up.".into()
        }
        Status::Dark => "Every light is off.".into(),
        _ if app.shown.is_none() => "The first picture is on its way.".into(),
        _ => return,
    };
    let galley = painter.layout(text, FontId::proportional(13.5), ink, within.width() - 24.0);
    let size = galley.size() + vec2(16.0, 12.0);
    let at = Rect::from_center_size(within.center(), size).min;
    painter.rect_filled(Rect::from_min_size(at, size), 4.0, ground);
    painter.galley(at + vec2(8.0, 6.0), galley, ink);
}

/// The picture that is compared with.
fn other(app: &mut App, ui: &mut Ui, painter: &egui::Painter, within: Rect, beside: Rect) {
    let Some(other) = app.other else { return };
    if app.compare == Compare::Difference
        && let (Other::Kept(index), Some(shown)) = (other, app.shown.clone())
        && let Some(frame) = app.frames.get(index)
    {
        let number = shown.number.wrapping_mul(64).wrapping_add(index as u64);
        let known = app.screens.difference.as_ref().is_some_and(|screen| screen.key.0 == number);
        if !known {
            let rgb = std::sync::Arc::new(frames::difference(&shown.picture, &frame.picture));
            let size = [shown.layers.width as usize, shown.layers.height as usize];
            screen(&mut app.screens.difference, ui, "difference", number, size, &rgb);
        }
        if let Some(screen) = &app.screens.difference {
            painter.image(screen.texture.id(), within, WHOLE, Color32::WHITE);
        }
        return;
    }
    let (name, size, texture): (String, [usize; 2], TextureHandle) = match other {
        Other::Kept(index) => {
            let Some(frame) = app.frames.get(index) else { return };
            let (name, size, rgb) = (frame.name.clone(), frame.size(), frame.rgb.clone());
            match screen(&mut app.screens.other, ui, "other", index as u64, size, &rgb) {
                Some(texture) => (name, size, texture.clone()),
                None => return,
            }
        }
        Other::Reference => {
            let Some(reference) = &app.reference else { return };
            let (size, rgb) = (reference.size, reference.rgb.clone());
            let profile = if reference.profiled { ", own profile" } else { "" };
            let name = format!("reference{profile}");
            match screen(&mut app.screens.reference, ui, "reference", 0, size, &rgb) {
                Some(texture) => (name, size, texture.clone()),
                None => return,
            }
        }
    };
    // the same crop as the picture: the middle, filling its frame
    let shape = within.width() / within.height();
    let own = size[0] as f32 / size[1].max(1) as f32;
    let kept = if own > shape { vec2(shape / own, 1.0) } else { vec2(1.0, own / shape) };
    let part = Rect::from_center_size(pos2(0.5, 0.5), kept);
    let (ink, ground) = ruler::on_picture();
    match app.compare {
        Compare::Beside => {
            painter.image(texture.id(), beside, part, Color32::WHITE);
            glyph::tag(painter, beside, beside.left_top() + vec2(4.0, 4.0), &name, ink, ground);
        }
        Compare::Over | Compare::Difference => {
            let tint = Color32::WHITE.gamma_multiply(app.opacity);
            painter.image(texture.id(), within, part, tint);
            glyph::tag(painter, within, within.left_top() + vec2(4.0, 4.0), &name, ink, ground);
        }
        Compare::Wipe => {
            let x = within.left() + app.wipe * within.width();
            let right = within.with_min_x(x);
            let cut = part.with_min_x(part.left() + app.wipe * part.width());
            painter.image(texture.id(), right, cut, Color32::WHITE);
            painter.vline(x, within.y_range(), Stroke::new(1.5, Color32::WHITE));
            painter.circle_filled(pos2(x, within.center().y), 5.0, Color32::WHITE);
            let at = pos2(within.right(), within.top() + 4.0);
            glyph::tag(painter, within, at, &name, ink, ground);
        }
    }
}

fn grid(painter: &egui::Painter, within: Rect) {
    let thin = Stroke::new(0.75, Color32::from_white_alpha(110));
    for third in 1..3 {
        let share = third as f32 / 3.0;
        painter.vline(within.left() + share * within.width(), within.y_range(), thin);
        painter.hline(within.x_range(), within.top() + share * within.height(), thin);
    }
    // the level: the frame's own horizon and upright
    let level = Stroke::new(1.0, Color32::from_rgb(255, 215, 90));
    let centre = within.center();
    painter.hline(centre.x - 26.0..=centre.x + 26.0, centre.y, level);
    painter.vline(centre.x, centre.y - 12.0..=centre.y + 12.0, level);
}

fn legend(painter: &egui::Painter, within: Rect, title: &str) {
    let (ink, ground) = ruler::on_picture();
    let step = (within.height() * 0.6 / 17.0).min(16.0);
    let height = 17.0 * step;
    let place = Rect::from_min_size(
        pos2(within.left() + 6.0, within.bottom() - height - 26.0),
        vec2(58.0, height + 20.0),
    );
    painter.rect_filled(place, 3.0, ground);
    for row in 0..17 {
        let stops = 4.0 - 0.5 * row as f32;
        let rgb = map::color_of(f64::from(stops)).to_array().map(|v| (v * 255.0) as u8);
        let top = place.top() + 16.0 + row as f32 * step;
        let swatch = Rect::from_min_size(pos2(place.left() + 4.0, top), vec2(20.0, step));
        painter.rect_filled(swatch, 0.0, Color32::from_rgb(rgb[0], rgb[1], rgb[2]));
        if row % 2 == 0 {
            let text = ruler::signed(f64::from(stops)).replace(".0", "");
            painter.text(
                pos2(place.left() + 28.0, top + 0.5 * step),
                Align2::LEFT_CENTER,
                text,
                FontId::proportional(10.5),
                ink,
            );
        }
    }
    let at = pos2(place.left(), place.top() - 4.0);
    glyph::tag(painter, within, at, title, ink, ground);
}

/// The meter in hand, and the pin where it was put.
fn hand(app: &mut App, ui: &Ui, painter: &egui::Painter, within: Rect, response: &egui::Response) {
    let film = |at: Pos2| {
        Vec2::new((at.x - within.left()) / within.width(), (at.y - within.top()) / within.height())
    };
    let (ink, ground) = ruler::on_picture();
    let pin = match &app.chosen {
        At::Film(film) => Some((*film, "pin")),
        At::Mark(name) => app.standing().and_then(|standing| {
            let mark = standing.stage.marks.iter().find(|mark| mark.name == *name)?;
            let (film, _) = standing.stage.camera.project(mark.position)?;
            let inside = film.min_element() >= 0.0 && film.max_element() <= 1.0;
            inside.then_some((film, "place"))
        }),
    };
    if let (Some((at, _)), true) = (pin, app.metering) {
        let at = pos2(within.left() + at.x * within.width(), within.top() + at.y * within.height());
        painter.circle_stroke(at, 6.0, Stroke::new(2.5, Color32::from_black_alpha(160)));
        painter.circle_stroke(at, 6.0, Stroke::new(1.25, Color32::WHITE));
    }
    if !app.metering {
        app.pointing = None;
        return;
    }
    let Some(pointer) = response.hover_pos().filter(|at| within.contains(*at)) else {
        app.pointing = None;
        glyph::tag(
            painter,
            within,
            within.left_top() + vec2(4.0, 4.0),
            "meter: point at the picture, click to pin",
            ink,
            ground,
        );
        return;
    };
    let at = film(pointer);
    app.pointing = Some(at);
    if response.clicked() {
        app.chosen = At::Film(at);
        app.say("Pinned: the stop ruler reads here");
    }
    ui.ctx().set_cursor_icon(egui::CursorIcon::Crosshair);
    let mut lines: Vec<(String, Option<usize>)> = Vec::new();
    let levels = app.levels(Hand::Pointing);
    let spots =
        app.shown.as_ref().map(|shown| meter::spot(&shown.layers, &shown.taking, at, 0.008));
    let spots = spots.unwrap_or_default();
    let total: f32 = spots.iter().map(|(_, level)| level).sum();
    let tone = |level: f32| match level > 0.0 {
        true => ruler::signed(f64::from((level / 0.18).log2())),
        false => "–".into(),
    };
    let reads = |f: Option<f64>| f.map_or("–".into(), |f| fstop::reading(f, Step::Thirds));
    lines.push(("incident, spot from grey".into(), None));
    for level in &levels {
        let Some(name) = level.name.as_deref().filter(|_| level.on) else { continue };
        let spot = spots.iter().find(|(one, _)| one == name).map_or(0.0, |(_, level)| *level);
        let number = app.plan().lights.iter().position(|light| light.name == name);
        lines.push((format!("{name}  {}   {}", reads(level.f_number), tone(spot)), number));
    }
    match levels.last() {
        Some(all) => lines.push((format!("all  {}   {}", reads(all.f_number), tone(total)), None)),
        None => lines.push((format!("all  reading…   {}", tone(total)), None)),
    }
    let font = FontId::proportional(12.5);
    let galleys: Vec<_> = lines
        .iter()
        .map(|(text, _)| painter.layout_no_wrap(text.clone(), font.clone(), ink))
        .collect();
    let width = galleys.iter().map(|galley| galley.size().x).fold(0.0, f32::max) + 28.0;
    let size = vec2(width, 17.0 * galleys.len() as f32 + 8.0);
    let screen = ui.ctx().content_rect();
    let mut corner = pointer + vec2(16.0, 16.0);
    if corner.x + size.x > screen.right() {
        corner.x = pointer.x - 16.0 - size.x;
    }
    if corner.y + size.y > screen.bottom() {
        corner.y = pointer.y - 16.0 - size.y;
    }
    let painter = ui
        .ctx()
        .layer_painter(egui::LayerId::new(egui::Order::Tooltip, ui.scope_id().with("meter")));
    painter.rect_filled(Rect::from_min_size(corner, size), 4.0, Color32::from_black_alpha(220));
    for (row, (galley, (_, number))) in galleys.into_iter().zip(&lines).enumerate() {
        let top = corner + vec2(20.0, 4.0 + 17.0 * row as f32);
        if let Some(number) = number {
            glyph::light(&painter, top + vec2(-10.0, 8.0), 4.5, *number, true, true);
        }
        painter.galley(top, galley, ink);
    }
}
