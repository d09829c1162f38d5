//! The stop ruler: the camera's setting in the middle of a scale of f-stops, and where each light,
//! the room and all together read at the chosen place. A mark that is dragged turns its light.

use eframe::egui;
use egui::{Align2, Color32, FontId, Key, Rect, Sense, Stroke, Ui, pos2, vec2};

use super::glyph;
use crate::optics::fstop::{self, Step};
use crate::plan::{Length, Target};
use crate::window::app::App;
use crate::window::edits::Pick;
use crate::window::meter::{At, Dome, Hand, Level};
use crate::window::ruler::{Scale, snapped, spread};
use crate::window::theme;

/// Height of a mark's words, points.
const MARK: f32 = 31.0;

pub fn show(app: &mut App, ui: &mut Ui) {
    ui.horizontal(|ui| {
        ui.strong("At");
        place(app, ui);
    });
    ui.horizontal(|ui| {
        ui.weak("dome");
        for (dome, name, hint) in [
            (Dome::Camera, "camera", "As the camera sees the place"),
            (Dome::EachLight, "lights", "Turned toward each light in turn"),
        ] {
            let chosen = app.dome == dome;
            let label = ui.selectable_label(chosen, egui::RichText::new(name).small());
            if label.on_hover_text(hint).clicked() {
                app.dome = dome;
            }
        }
    });
    let levels = app.levels(Hand::Chosen);
    let size = ui.available_size() - vec2(0.0, 2.0);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    scale(app, ui, rect, &levels);
}

/// Which place is read.
fn place(app: &mut App, ui: &mut Ui) {
    let name = match &app.chosen {
        At::Mark(name) => name.replace('_', " "),
        At::Film(_) => "the pin".into(),
    };
    let marks: Vec<String> = app
        .standing()
        .map(|standing| standing.stage.marks.iter().map(|mark| mark.name.clone()).collect())
        .unwrap_or_default();
    let combo = egui::ComboBox::from_id_salt("place")
        .selected_text(name)
        .width((ui.available_width() - 8.0).max(40.0))
        .show_ui(ui, |ui| {
            for mark in marks {
                let chosen = app.chosen == At::Mark(mark.clone());
                if ui.selectable_label(chosen, mark.replace('_', " ")).clicked() {
                    app.chosen = At::Mark(mark);
                }
            }
        });
    combo.response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::Role::ComboBox, true, "place of the reading")
    });
}

fn scale(app: &mut App, ui: &mut Ui, rect: Rect, levels: &[Level]) {
    let dark = app.is_dark();
    let painter = ui.painter_at(rect);
    let (ink, weak) = (ui.visuals().text_color(), ui.visuals().weak_text_color());
    let reach = |wanted: fn(f32, f32) -> f32, start: f32| {
        let lit =
            levels.iter().filter(|level| level.on).filter_map(|level| level.stops_over_camera);
        lit.fold(start, |far, stops| wanted(far, stops as f32))
    };
    let scale = Scale {
        top: rect.top() + 8.0,
        bottom: rect.bottom() - 8.0,
        high: reach(f32::max, 3.0).ceil().min(9.0) + 0.5,
        low: reach(f32::min, -5.0).floor().max(-9.0) - 0.5,
    };
    let line = rect.left() + 44.0;
    painter.vline(line, rect.y_range(), Stroke::new(1.0, weak));
    let camera = app.plan().camera.aperture.f_number;
    let font = FontId::proportional(11.5);
    let mut stop = scale.low.ceil() as i32;
    while stop as f32 <= scale.high {
        let y = scale.place(stop as f32);
        let f = camera * (0.5 * f64::from(stop)).exp2();
        if stop != 0 {
            painter.hline(line - 6.0..=line, y, Stroke::new(1.0, weak));
            painter.text(
                pos2(line - 9.0, y),
                Align2::RIGHT_CENTER,
                fstop::marked(f),
                font.clone(),
                weak,
            );
        }
        for third in 1..3 {
            let y = scale.place(stop as f32 + third as f32 / 3.0);
            painter.hline(line - 3.0..=line, y, Stroke::new(0.5, weak));
        }
        stop += 1;
    }
    // the camera's setting
    let y = scale.place(0.0);
    painter.hline(rect.x_range(), y, Stroke::new(1.5, ink));
    let tag = Rect::from_min_max(pos2(rect.left(), y - 9.0), pos2(line - 5.0, y + 9.0));
    painter.rect_filled(tag, 2.0, ink);
    let name = app.plan().camera.aperture.to_string();
    painter.text(tag.center(), Align2::CENTER_CENTER, name, font.clone(), ui.visuals().panel_fill);
    if levels.is_empty() {
        let words = if app.plan().lights.is_empty() { "nothing\nto read" } else { "reading…" };
        painter.text(pos2(line + 10.0, rect.top() + 20.0), Align2::LEFT_TOP, words, font, weak);
        return;
    }
    let marks: Vec<&Level> =
        levels.iter().filter(|level| level.stops_over_camera.is_some()).collect();
    let wishes: Vec<f32> = marks
        .iter()
        .map(|level| scale.place(level.stops_over_camera.unwrap_or(0.0) as f32))
        .collect();
    let places = spread(&wishes, MARK, rect.top(), rect.bottom());
    for ((level, wish), y) in marks.into_iter().zip(wishes).zip(places) {
        mark(app, ui, level, &scale, (rect, line, wish, y), dark);
    }
    let unread: Vec<&str> = levels
        .iter()
        .filter(|level| level.stops_over_camera.is_none() && level.on)
        .filter_map(|level| level.name.as_deref())
        .collect();
    if !unread.is_empty() {
        let text = format!("no light here:\n{}", unread.join(", "));
        painter.text(pos2(line + 6.0, rect.bottom() - 4.0), Align2::LEFT_BOTTOM, text, font, weak);
    }
}

fn mark(
    app: &mut App,
    ui: &mut Ui,
    level: &Level,
    scale: &Scale,
    (rect, line, wish, y): (Rect, f32, f32, f32),
    dark: bool,
) {
    let Some(stops) = level.stops_over_camera else { return };
    let weak = ui.visuals().weak_text_color();
    let name = level.name.clone().unwrap_or_else(|| "all".into());
    let light = app.plan().lights.iter().find(|light| light.name == name).cloned();
    let is_total = level.name.is_none();
    let number = app.number(&name);
    let ink = match (&light, level.on) {
        (_, false) => weak,
        (Some(_), true) => theme::light(number, dark),
        _ => ui.visuals().text_color(),
    };
    let bounds = Rect::from_min_max(pos2(line, y - 0.5 * MARK), pos2(rect.right(), y + 0.5 * MARK));
    let id = ui.make_persistent_id(("mark", &name));
    let sense = if light.is_some() { Sense::click_and_drag() } else { Sense::hover() };
    let response = ui.interact(bounds, id, sense);
    let painter = ui.painter_at(rect);
    if response.hovered() && light.is_some() || response.has_focus() {
        painter.rect_filled(bounds, 2.0, ui.visuals().faint_bg_color);
    }
    let stroke = Stroke::new(if is_total { 2.5 } else { 1.5 }, ink);
    painter.line_segment([pos2(line - 4.0, wish), pos2(line + 5.0, wish)], stroke);
    painter.line_segment([pos2(line + 5.0, wish), pos2(line + 11.0, y)], Stroke::new(1.0, ink));
    let mut left = line + 14.0;
    if light.is_some() {
        glyph::light(&painter, pos2(left + 4.0, y - 7.0), 4.5, number, level.on, dark);
        left += 12.0;
    }
    let width = rect.right() - left;
    let mut job =
        egui::text::LayoutJob::simple_singleline(name.clone(), FontId::proportional(12.5), ink);
    job.wrap = egui::text::TextWrapping::truncate_at_width(width);
    let galley = ui.painter().layout_job(job);
    painter.galley(pos2(left, y - 15.0), galley, ink);
    let reads = level.f_number.map_or("–".into(), |f| fstop::reading(f, Step::Tenths));
    let beyond = if scale.is_beyond(stops as f32) { " beyond" } else { "" };
    let text = format!("{}{beyond}", reads);
    let font = FontId::proportional(11.5);
    painter.text(
        pos2(line + 14.0, y + 7.0),
        Align2::LEFT_CENTER,
        &text,
        font.clone(),
        ui.visuals().text_color(),
    );
    let over = signed(stops);
    painter.text(pos2(rect.right() - 1.0, y + 7.0), Align2::RIGHT_CENTER, &over, font, weak);
    let at = match &app.chosen {
        At::Mark(mark) => mark.replace('_', " "),
        At::Film(_) => "the pin".into(),
    };
    let spoken = format!("{name} reads {reads} at {at}, {over} stops from the camera");
    response.widget_info(|| match light.is_some() {
        true => egui::WidgetInfo::slider(true, stops, &spoken),
        false => egui::WidgetInfo::labeled(egui::Role::Label, true, &spoken),
    });
    let Some(light) = light else {
        response.on_hover_text(hover(level, &spoken));
        return;
    };
    if response.clicked() || response.drag_started() {
        app.pick = Pick::Light(name.clone());
        response.request_focus();
    }
    let group = format!("ruler {name}");
    if response.drag_started() {
        ui.data_mut(|data| data.insert_temp(id, light.power.stops));
    }
    if response.dragged()
        && let (Some(start), Some(from), Some(now)) = (
            ui.data(|data| data.get_temp::<f64>(id)),
            ui.input(|input| input.pointer.press_origin()),
            response.interact_pointer_pos(),
        )
    {
        let free = ui.input(|input| input.modifiers.shift);
        let step = if free { light.head.step.stops().min(0.1) } else { 1.0 / 3.0 };
        let wanted = start + f64::from(scale.stops_of(from.y - now.y));
        let by = snapped(wanted, step) - light.power.stops;
        if by.abs() > 1e-6 {
            app.turn_power_of(&name, by, Some(&group));
        }
    }
    if response.has_focus() {
        ui.memory_mut(|memory| {
            let filter = egui::EventFilter { vertical_arrows: true, ..Default::default() };
            memory.set_focus_lock_filter(id, filter);
        });
        // the arrow keys turn what is picked, wherever the focus is
        app.pick = Pick::Light(name.clone());
        if ui.input(|input| input.key_pressed(Key::Escape)) {
            response.surrender_focus();
        }
    }
    let power = light.power.display();
    response.on_hover_cursor(egui::CursorIcon::ResizeVertical).on_hover_text(format!(
        "{}\npower {power}; drag to turn it, by thirds (Shift: tenths)",
        hover(level, &spoken)
    ));
}

fn hover(level: &Level, spoken: &str) -> String {
    let bounced = format!("{:.0} % of it bounced", 100.0 * level.bounced);
    format!("{spoken}\n{:.3} lx·s, {bounced}, ±{:.2} stop", level.lux_s, level.error_stops)
}

/// Stops with a sign, to a tenth.
pub fn signed(stops: f64) -> String {
    let tenths = (stops * 10.0).round() / 10.0;
    if tenths == 0.0 { "±0".into() } else { format!("{tenths:+.1}").replace('-', "−") }
}

/// The place of a target as marks name it.
pub fn mark_of(target: &Target) -> Option<&'static str> {
    Some(match target {
        Target::Face => "face",
        Target::Chest => "chest",
        Target::Hips => "hips",
        Target::RightHand => "right_hand",
        Target::LeftHand => "left_hand",
        Target::Crown => "crown",
        Target::Feet => "feet",
        _ => return None,
    })
}

/// Colour for text on a picture.
pub fn on_picture() -> (Color32, Color32) {
    (Color32::WHITE, Color32::from_black_alpha(190))
}

/// Metres as a length.
pub fn metres(value: f32) -> Length {
    Length::metres(f64::from((value * 1000.0).round()) / 1000.0)
}
