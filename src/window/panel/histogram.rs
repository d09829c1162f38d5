//! The histogram in stops, from seven under grey to four over it.

use eframe::egui;
use egui::{Align2, FontId, Sense, Stroke, Ui, pos2};

use crate::optics::exposure::SENSOR_CLIP;
use crate::window::app::App;
use crate::window::engine::Histogram;
use crate::window::theme;

pub fn show(app: &App, ui: &mut Ui) {
    let size = egui::vec2(ui.available_width(), 76.0);
    let (rect, response) = ui.allocate_exact_size(size, Sense::hover());
    let painter = ui.painter_at(rect);
    let dark = app.is_dark();
    let (ink, weak) = (ui.visuals().text_color(), ui.visuals().weak_text_color());
    let place = rect.with_max_y(rect.max.y - 15.0).with_min_y(rect.min.y + 2.0);
    painter.rect_filled(place, 2.0, ui.visuals().extreme_bg_color);
    let at = |stops: f32| {
        place.left() + (stops - Histogram::FROM) / (Histogram::TO - Histogram::FROM) * place.width()
    };
    let font = FontId::proportional(10.5);
    for stop in (-6..=4).step_by(2) {
        let x = at(stop as f32);
        painter.vline(x, place.y_range(), Stroke::new(0.5, weak.gamma_multiply(0.5)));
        let text = match stop {
            0 => "grey".into(),
            _ => format!("{stop:+}").replace('-', "−"),
        };
        let x = x.clamp(place.left() + 8.0, place.right() - 8.0);
        painter.text(pos2(x, rect.bottom()), Align2::CENTER_BOTTOM, text, font.clone(), weak);
    }
    let limit = at((SENSOR_CLIP / 0.18).log2() as f32);
    painter.vline(limit, place.y_range(), Stroke::new(1.0, theme::wrong(dark)));
    let Some(shown) = &app.shown else { return };
    let most = shown.histogram.shares.iter().copied().fold(0.02, f32::max);
    let width = place.width() / shown.histogram.shares.len() as f32;
    for (bin, share) in shown.histogram.shares.iter().enumerate() {
        let left = place.left() + bin as f32 * width;
        let height = (share / most).sqrt() * (place.height() - 2.0);
        let bar = egui::Rect::from_min_max(
            pos2(left, place.bottom() - height),
            pos2(left + width - 1.0, place.bottom()),
        );
        painter.rect_filled(bar, 0.0, ink.gamma_multiply(0.75));
    }
    let clipped = 100.0 * shown.histogram.clipped;
    let words =
        if clipped >= 0.05 { format!("{clipped:.1} % clipped") } else { "nothing clipped".into() };
    let ink = if clipped >= 0.05 { theme::wrong(dark) } else { weak };
    painter.text(place.left_top() + egui::vec2(4.0, 2.0), Align2::LEFT_TOP, &words, font, ink);
    response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::Role::Image, true, format!("histogram in stops, {words}"))
    });
    response.on_hover_text(
        "How much of the frame lies how many stops from 18 % grey; the line is the sensor's limit",
    );
}
