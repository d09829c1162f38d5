//! Where the window's picture comes from: threads that settle it while the user works.
//!
//! ```text
//!   window ──Wish (plan, size)──► settling thread ──Layers──► developing thread ──Shown──► window
//!      └────────Look (which lights, which overlay)─────────────────┘
//! ```
//! The newest wish wins. A wish that changes only gains (power, gel, shutter, ISO) interrupts
//! nothing: the layers that are there are developed anew. Which engine makes the layers is behind
//! [`Renderer`].

mod cpu;
mod develop;
mod renderer;
mod settle;
mod store;

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, MutexGuard};

use super::worker::{Desk, Threads};
use crate::layers::Layers;
use crate::picture::{Picture, Taking};
use crate::plan::Plan;
use crate::shoot::{Rays, keys};
use crate::stage::{Stage, StageError};

pub use develop::{Histogram, Look, Overlay};
pub use renderer::{Job, Renderer, Step};
pub use store::resized;

/// What the picture should show.
#[derive(Debug, Clone, PartialEq)]
pub struct Wish {
    /// The plan as it stands.
    pub plan: Arc<Plan>,
    /// Longest side of the picture, pixels.
    pub long_side: u32,
    /// Settled when the picture's error is within this many stops.
    pub within_stops: f32,
    /// A light that is off and is asked for all the same.
    pub also: Option<String>,
}

impl Wish {
    /// Equal while no ray has to be traced anew.
    fn work_key(&self) -> String {
        let lit = crate::shoot::lit(&self.plan, &[]);
        let key = keys::layer_key(&self.plan, "", &[], (self.long_side, 0));
        // an empty name is no light's: that key holds every light's body, these hold their beams
        let heads: Vec<_> = self.plan.lights.iter().map(keys::built).collect();
        format!("{key}{heads:?}{lit:?}{:?}{}", self.also, self.within_stops)
    }
}

/// The set as it stands for the newest plan that can stand.
#[derive(Debug, Clone)]
pub struct Standing {
    /// Counts stages.
    pub number: u64,
    /// Its plan.
    pub plan: Arc<Plan>,
    /// The set.
    pub stage: Arc<Stage>,
}

/// A developed picture.
#[derive(Debug, Clone)]
pub struct Shown {
    /// Counts pictures.
    pub number: u64,
    /// The stage of its layers.
    pub standing: Standing,
    /// The plan whose gains it was mixed with.
    pub plan: Arc<Plan>,
    /// Light by light.
    pub layers: Arc<Layers>,
    /// How they were mixed, with every light as set (not alone).
    pub taking: Arc<Taking>,
    /// The sensor's values of what is shown.
    pub picture: Arc<Picture>,
    /// What is shown: sRGB, three bytes a pixel.
    pub rgb: Arc<Vec<u8>>,
    /// Stops of its tones.
    pub histogram: Histogram,
}

/// How far the picture is.
#[derive(Debug, Clone, Default)]
pub enum Status {
    /// No plan yet.
    #[default]
    Idle,
    /// The set is being built.
    Building,
    /// Rays are traced.
    Settling {
        /// Share done, 0 to 1.
        done: f32,
        /// Error of the average pixel, stops.
        error_stops: f32,
        /// Lights whose layers are not yet of this set.
        stale: Vec<String>,
    },
    /// As good as asked for.
    Settled {
        /// Error of the average pixel, stops.
        error_stops: f32,
    },
    /// Nothing is lit.
    Dark,
    /// The plan cannot stand; the picture is of the last one that could.
    Fault(Arc<StageError>),
}

#[derive(Default)]
struct State {
    wish: Option<Wish>,
    /// Counts wishes.
    wish_number: u64,
    work_key: String,
    look: Look,
    standing: Option<Standing>,
    rays: Arc<Rays>,
    layers: Option<(u64, Standing, Arc<Layers>)>,
    shown: Option<Shown>,
    shown_count: u64,
    status: Status,
    /// Other work wants the processor.
    paused: bool,
}

/// What the threads share.
struct Shared {
    desk: Desk<State>,
    /// Raised when the work under way is no longer wanted.
    stop: AtomicBool,
    /// Wakes the window.
    wake: Box<dyn Fn() + Send + Sync>,
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, State> {
        self.desk.lock()
    }

    /// Waits while other work wants the processor and no new wish has come.
    fn rest(&self) {
        self.desk.wait_until(|state| {
            !state.paused || self.desk.is_closing() || self.stop.load(Ordering::Relaxed)
        });
    }

    fn set(&self, change: impl FnOnce(&mut State)) {
        self.desk.change(change);
        (self.wake)();
    }
}

/// The threads; ended when dropped.
pub struct Engine {
    shared: Arc<Shared>,
    /// Waited for once the desk is closed.
    _threads: Threads,
}

impl Engine {
    /// Starts them. `wake` is called from them whenever there is something new.
    pub fn start(wake: impl Fn() + Send + Sync + 'static) -> Self {
        Self::with(Box::new(cpu::Cpu::default()), wake)
    }

    /// The same with another way to make layers.
    pub fn with(renderer: Box<dyn Renderer>, wake: impl Fn() + Send + Sync + 'static) -> Self {
        let shared = Arc::new(Shared {
            desk: Desk::default(),
            stop: AtomicBool::new(false),
            wake: Box::new(wake),
        });
        let settling = {
            let shared = shared.clone();
            move || settle::run(&shared, renderer)
        };
        let developing = {
            let shared = shared.clone();
            move || develop::run(&shared)
        };
        // a machine that cannot start two threads cannot open a window either
        let _threads = Threads::default().with("settling", settling).with("developing", developing);
        Self { shared, _threads }
    }

    /// Asks for a picture; the newest wish wins.
    pub fn ask(&self, wish: Wish) {
        if self.shared.lock().wish.as_ref() == Some(&wish) {
            return;
        }
        let key = wish.work_key();
        self.shared.desk.change(|state| {
            if key != state.work_key {
                state.work_key = key;
                self.shared.stop.store(true, Ordering::Relaxed);
            }
            state.wish = Some(wish);
            state.wish_number += 1;
        });
    }

    /// Lets the picture rest while a verb's work wants the processor; first looks still come.
    pub fn pause(&self, paused: bool) {
        if self.shared.lock().paused != paused {
            self.shared.desk.change(|state| state.paused = paused);
        }
    }

    /// Chooses what is seen of the layers; no ray is traced for it.
    pub fn look(&self, look: Look) {
        if self.shared.lock().look != look {
            self.shared.desk.change(|state| state.look = look);
        }
    }

    /// The newest picture.
    pub fn shown(&self) -> Option<Shown> {
        self.shared.lock().shown.clone()
    }

    /// Number of the newest picture, 0 for none.
    pub fn shown_number(&self) -> u64 {
        self.shared.lock().shown.as_ref().map_or(0, |shown| shown.number)
    }

    /// The set that stands.
    pub fn standing(&self) -> Option<Standing> {
        self.shared.lock().standing.clone()
    }

    /// Its rays: levels of the room's light.
    pub fn rays(&self) -> Arc<Rays> {
        self.shared.lock().rays.clone()
    }

    /// How far the picture is.
    pub fn status(&self) -> Status {
        self.shared.lock().status.clone()
    }
}

impl Drop for Engine {
    fn drop(&mut self) {
        self.shared.stop.store(true, Ordering::Relaxed);
        self.shared.desk.close();
    }
}
