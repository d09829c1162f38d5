//! The foot of the window: kept frames, notes of what will go wrong, work under way, the last word.

use eframe::egui;
use egui::{Color32, Pos2, Rect, RichText, Sense, Stroke, TextureOptions, Ui, pos2, vec2};

use super::{dialog::Dialog, fitted};
use crate::shoot::Severity;
use crate::window::act::Act;
use crate::window::app::App;
use crate::window::frames::{Compare, Other};
use crate::window::theme;

pub fn show(app: &mut App, ui: &mut Ui) {
    if !app.frames.is_empty() || app.reference.is_some() {
        kept(app, ui);
        ui.separator();
    }
    ui.horizontal(|ui| {
        notes(app, ui);
        for job in app.jobs.clone() {
            ui.separator();
            let (done, step) = job.progress();
            ui.label(&job.title);
            ui.add(
                egui::ProgressBar::new(done)
                    .desired_width(110.0)
                    .text(format!("{step} {:.0} %", 100.0 * done)),
            );
            if ui.button("Stop").clicked() {
                job.stop();
            }
        }
        if let Some(word) = app.word.clone() {
            ui.separator();
            let mut text = RichText::new(word.text.replace('\n', "  "));
            if word.wrong {
                text = text.color(theme::wrong(app.is_dark()));
                if ui.small_button("Close").clicked() {
                    app.word = None;
                }
            }
            let full = word.text.clone();
            ui.add(egui::Label::new(text).truncate()).on_hover_text(full);
        }
    });
}

fn notes(app: &mut App, ui: &mut Ui) {
    let dark = app.is_dark();
    let count =
        |severity: Severity| app.notes.iter().filter(|note| note.severity == severity).count();
    let problems = count(Severity::Problem);
    let all = app.notes.len();
    let (text, ink) = match (problems, all) {
        (_, 0) if app.is_checked() => ("no notes".to_owned(), ui.visuals().weak_text_color()),
        (_, 0) => ("checked when settled".to_owned(), ui.visuals().weak_text_color()),
        (0, all) => (format!("{all} notes"), theme::warning(dark)),
        (problems, all) => (format!("{problems} problems, {all} notes"), theme::wrong(dark)),
    };
    let text = match app.is_checked() || all == 0 {
        true => text,
        false => format!("{text} before the last change"),
    };
    let button =
        ui.add_enabled(all > 0, egui::Button::new(RichText::new(text).color(ink)).frame(false));
    if button.on_hover_text("What to know before the day").clicked() {
        app.dialog = Some(Dialog::Notes);
    }
}

fn kept(app: &mut App, ui: &mut Ui) {
    let height = 74.0;
    ui.horizontal(|ui| {
        egui::ScrollArea::horizontal()
            .max_width(ui.available_width() - 250.0)
            .auto_shrink([true, true])
            .show(ui, |ui| {
                ui.horizontal(|ui| {
                    for index in 0..app.frames.len() {
                        frame(app, ui, index, height);
                    }
                });
            });
        ui.vertical(|ui| compare(app, ui));
    });
}

fn frame(app: &mut App, ui: &mut Ui, index: usize, height: f32) {
    let compared = app.comparing && app.other == Some(Other::Kept(index));
    let frame = &mut app.frames[index];
    let [w, h] = frame.size();
    let size = vec2(height * (w as f32 / h.max(1) as f32).clamp(0.5, 1.8), height);
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    let rgb = frame.rgb.clone();
    let name = frame.name.clone();
    let texture = frame.texture.get_or_insert_with(|| {
        let image = egui::ColorImage::from_rgb([w, h], &rgb);
        ui.ctx().load_texture(&name, image, TextureOptions::LINEAR)
    });
    let whole = Rect::from_min_max(Pos2::ZERO, pos2(1.0, 1.0));
    ui.painter().image(
        texture.id(),
        fitted(rect, w as f32 / h.max(1) as f32),
        whole,
        Color32::WHITE,
    );
    let stroke = match (compared, response.hovered() || response.has_focus()) {
        (true, _) => Stroke::new(2.5, ui.visuals().selection.stroke.color),
        (_, true) => Stroke::new(1.5, ui.visuals().text_color()),
        _ => Stroke::new(1.0, ui.visuals().widgets.noninteractive.bg_stroke.color),
    };
    ui.painter().rect_stroke(rect, 2.0, stroke, egui::StrokeKind::Inside);
    let caption = frame.caption.clone();
    let number = (index + 1).to_string();
    ui.painter().text(
        rect.left_top() + vec2(4.0, 2.0),
        egui::Align2::LEFT_TOP,
        number,
        egui::FontId::proportional(11.5),
        Color32::WHITE,
    );
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, &name));
    if response.clicked() {
        app.other = Some(Other::Kept(index));
        app.comparing = !compared;
    }
    if response.double_clicked() {
        app.go_back(index);
    }
    response.clone().on_hover_text(format!(
        "{name}: {caption}\nclick to compare, double-click to go back to it"
    ));
    response.context_menu(|ui| {
        if ui.button("Go back to this frame").clicked() {
            app.go_back(index);
            ui.close();
        }
        if ui.button("Take it off the strip").clicked() {
            app.frames.remove(index);
            app.comparing = false;
            app.other = None;
            app.screens.other = None;
            app.screens.difference = None;
            ui.close();
        }
    });
}

fn compare(app: &mut App, ui: &mut Ui) {
    ui.horizontal(|ui| {
        for (way, name) in [
            (Compare::Beside, "Beside"),
            (Compare::Wipe, "Wipe"),
            (Compare::Over, "Over"),
            (Compare::Difference, "Difference"),
        ] {
            let chosen = app.comparing && app.compare == way;
            if ui.selectable_label(chosen, RichText::new(name).small()).clicked() {
                app.act(Act::Compare(way));
            }
        }
    });
    ui.horizontal(|ui| {
        if let Some(Other::Kept(index)) = app.other.filter(|_| app.comparing)
            && ui.button(format!("Go back to {}", index + 1)).clicked()
        {
            app.go_back(index);
        }
        if app.reference.is_some() {
            let chosen = app.comparing && app.other == Some(Other::Reference);
            if ui.selectable_label(chosen, "Reference").clicked() {
                app.other = Some(Other::Reference);
                app.comparing = !chosen;
            }
        }
    });
    if app.comparing && app.compare == Compare::Over {
        let slider =
            egui::Slider::new(&mut app.opacity, 0.0..=1.0).text("opacity").show_value(false);
        ui.add(slider);
    } else if app.comparing && app.compare == Compare::Wipe {
        ui.add(egui::Slider::new(&mut app.wipe, 0.0..=1.0).text("wipe").show_value(false));
    }
}
