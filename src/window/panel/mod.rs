//! What is drawn: the window's layout, one file a panel.
//!
//! ```text
//!  ┌ bar: menus, views, how far the picture is ──────────────────────┐
//!  │ lights │   picture and set                 │ ruler │ numbers    │
//!  │ and set│                                   │       │ histogram  │
//!  ├────────┴───────────────────────────────────┴───────┴────────────┤
//!  └ strip: kept frames, notes, work under way ──────────────────────┘
//! ```

mod bar;
pub(super) mod dialog;
mod glyph;
mod histogram;
mod lights;
mod numbers;
mod numbers_light;
mod numbers_set;
mod picture;
mod ruler;
mod set;
mod strip;

use std::sync::Arc;

use eframe::egui;
use egui::{ColorImage, Frame, Margin, Panel, TextureHandle, TextureOptions, Ui};

use super::app::App;

/// Pictures on the graphics card, with what they show.
#[derive(Default)]
pub(super) struct Screens {
    pub(super) picture: Option<Screen>,
    pub(super) solid: Option<Screen>,
    pub(super) other: Option<Screen>,
    pub(super) difference: Option<Screen>,
    pub(super) reference: Option<Screen>,
}

/// A picture on the card.
pub(super) struct Screen {
    pub(super) texture: TextureHandle,
    /// What it shows.
    key: (u64, usize),
}

/// Puts a picture on the card unless it is there.
pub(super) fn screen<'a>(
    slot: &'a mut Option<Screen>,
    ui: &Ui,
    name: &str,
    number: u64,
    size: [usize; 2],
    rgb: &Arc<Vec<u8>>,
) -> Option<&'a TextureHandle> {
    let key = (number, Arc::as_ptr(rgb) as usize);
    if slot.as_ref().is_none_or(|screen| screen.key != key) && rgb.len() == 3 * size[0] * size[1] {
        let image = ColorImage::from_rgb(size, rgb);
        match slot {
            Some(screen) => {
                screen.texture.set(image, TextureOptions::LINEAR);
                screen.key = key;
            }
            None => {
                let texture = ui.ctx().load_texture(name, image, TextureOptions::LINEAR);
                *slot = Some(Screen { texture, key });
            }
        }
    }
    slot.as_ref().map(|screen| &screen.texture)
}

/// The largest rectangle of this shape in the middle of another.
pub(super) fn fitted(within: egui::Rect, aspect: f32) -> egui::Rect {
    let size = within.size();
    let size = if size.x > size.y * aspect {
        egui::vec2(size.y * aspect, size.y)
    } else {
        egui::vec2(size.x, size.x / aspect)
    };
    egui::Rect::from_center_size(within.center(), size)
}

/// The whole window.
pub(super) fn window(app: &mut App, ui: &mut Ui) {
    let plain = |ui: &Ui| Frame::side_top_panel(ui.style()).inner_margin(Margin::symmetric(8, 4));
    let frame = plain(ui);
    Panel::top("bar").frame(frame).show(ui, |ui| bar::show(app, ui));
    Panel::bottom("strip").frame(frame).show(ui, |ui| strip::show(app, ui));
    Panel::left("lights")
        .frame(frame)
        .resizable(true)
        .default_size(212.0)
        .size_range(180.0..=340.0)
        .show(ui, |ui| lights::show(app, ui));
    Panel::right("numbers")
        .frame(frame)
        .resizable(true)
        .default_size(256.0)
        .size_range(220.0..=420.0)
        .show(ui, |ui| numbers::show(app, ui));
    Panel::right("ruler")
        .frame(frame)
        .resizable(false)
        .exact_size(166.0)
        .show(ui, |ui| ruler::show(app, ui));
    egui::CentralPanel::default().frame(Frame::NONE).show(ui, |ui| picture::middle(app, ui));
    dialog::show(app, ui);
}
