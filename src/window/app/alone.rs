//! Light by light: one alone, the room alone, the series played; and what each reads today.

use std::time::{Duration, Instant};

use super::{App, Play};
use crate::stage::AMBIENT;
use crate::window::meter::{self, Hand, Level};

/// Time a frame of the series is shown.
const PLAY_EVERY: Duration = Duration::from_millis(1600);

impl App {
    /// Names of the room's own lights.
    pub(in crate::window) fn room_lights(&self) -> Vec<String> {
        let plan = self.plan();
        let lamps = plan.lamps.iter().map(|lamp| lamp.name.clone());
        let windows = plan.windows.iter().map(|window| window.name.clone());
        lamps.chain(windows).chain(plan.ambient.iter().map(|_| AMBIENT.to_owned())).collect()
    }

    /// Only these lights are seen; asked for again, all are.
    pub(in crate::window) fn alone(&mut self, names: Vec<String>) {
        self.play = None;
        self.only = if self.only.as_ref() == Some(&names) { None } else { Some(names) };
    }

    pub(super) fn start_play(&mut self) {
        if self.play.take().is_some() {
            self.only = None;
            return;
        }
        // the room alone, then the weakest alone, then the others added
        let mut frames = Vec::new();
        let room = self.room_lights();
        if !room.is_empty() {
            frames.push(room.clone());
        }
        let mut order: Vec<(f64, String)> = self
            .levels(Hand::Chosen)
            .into_iter()
            .filter(|level| level.on)
            .filter_map(|level| {
                Some((level.lux_s, level.name.filter(|name| !room.contains(name))?))
            })
            .collect();
        order.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut so_far = Vec::new();
        for (number, (_, name)) in order.iter().enumerate() {
            so_far.push(name.clone());
            if number == 0 {
                frames.push(so_far.clone());
            } else {
                let mut with = room.clone();
                with.extend(so_far.iter().cloned());
                frames.push(with);
            }
        }
        if frames.is_empty() {
            self.say("Nothing is lit yet, so there is no series to play");
            return;
        }
        self.only = frames.first().cloned();
        self.play = Some(Play { frames, at: 0, next: Instant::now() + PLAY_EVERY });
    }

    pub(super) fn go_on_playing(&mut self) {
        let Some(play) = &mut self.play else { return };
        let now = Instant::now();
        if now >= play.next {
            play.at += 1;
            play.next = now + PLAY_EVERY;
            match play.frames.get(play.at) {
                Some(only) => self.only = Some(only.clone()),
                None => {
                    self.play = None;
                    self.only = None;
                    return;
                }
            }
        }
        self.context.request_repaint_after(Duration::from_millis(100));
    }

    /// Readings at a place with today's powers, if there are any; all together last.
    pub(in crate::window) fn levels(&self, hand: Hand) -> Vec<Level> {
        match (&self.shown, self.meter.reading(hand)) {
            (Some(shown), Some(reading)) if !reading.lights.is_empty() => {
                let names: Vec<String> =
                    reading.lights.iter().map(|light| light.name.clone()).collect();
                let stage = &reading.ask.stage;
                let taking = crate::shoot::taking(self.plan(), stage, &names, &self.engine.rays());
                let _ = shown;
                meter::levels(self.plan(), &taking, &reading)
            }
            _ => Vec::new(),
        }
    }
}
