//! `foreshadow balance`: powers (or distances) that give wished readings.

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Args, ValueEnum};

use super::error::CliError;
use super::meter::{aim, point};
use super::progress::Bar;
use super::wish::wish;
use super::{print, print_json, typed};
use crate::plan::units::LengthUnit;
use crate::plan::{self, Aperture, Plan, Power, Shutter};
use crate::shoot::balance::{BalanceOptions, Balanced, Limit, Subject};
use crate::shoot::fstop;
use crate::shoot::{self, TableStyle, columns, output};

/// Find the powers, or distances, that give wished readings
///
/// A wish is LIGHT=f/8, or stops from the key: LIGHT=-2. Each light is read alone with the dome
/// toward it (as `meter --dome light` does). `total=…` is all of them with the room, dome toward
/// the camera. @PLACE reads elsewhere: rim=+0.5@crown. The exit status is 1 if a wish cannot be
/// met.
#[derive(Debug, Args)]
pub(super) struct Typed {
    /// The plan file, or a still that carries its plan
    plan: PathBuf,
    /// Wished readings, such as key=f/8 fill=-2 rim=+0.5@crown total=camera
    #[arg(required = true, value_name = "WISH")]
    wishes: Vec<String>,
    /// Write the plan with the new powers here
    #[arg(short, long, value_name = "NEW")]
    output: Option<PathBuf>,
    /// Where readings are taken unless a wish says otherwise
    #[arg(long, value_name = "PLACE", default_value = "face", allow_hyphen_values = true)]
    at: String,
    /// What the dome looks at: light (each in turn), camera, or the name of a light or place
    #[arg(long, value_name = "AIM", default_value = "light", allow_hyphen_values = true)]
    dome: String,
    /// The key [default: the light named key, else the first with an f-number, else the strongest]
    #[arg(long, value_name = "LIGHT")]
    key: Option<String>,
    /// Solve the distance of these lights and keep their power, such as key,rim
    #[arg(long = "move", value_name = "NAMES")]
    moved: Option<String>,
    /// Steps of power [default: each head's own]
    #[arg(long, value_enum)]
    steps: Option<TypedSteps>,
    /// Lengths in feet and inches
    #[arg(long)]
    feet: bool,
    /// Same seed, same readings
    #[arg(long, default_value_t = 1, allow_negative_numbers = true)]
    seed: u64,
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// No progress bar
    #[arg(short, long)]
    quiet: bool,
}

/// How finely powers are set.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum TypedSteps {
    Thirds,
    Tenths,
    Exact,
}

impl Typed {
    fn check(&self) -> Result<(Plan, BalanceOptions), CliError> {
        let plan = plan::read(&self.plan)?;
        let wishes: Vec<_> =
            self.wishes.iter().map(|typed| wish(typed, &plan)).collect::<Result<_, _>>()?;
        let light = |argument: &str, name: &str| {
            let known: Vec<&str> = plan.lights.iter().map(|light| light.name.as_str()).collect();
            typed::one_of(argument, name.trim(), "light", &known)
        };
        let moved: Vec<String> = match &self.moved {
            None => Vec::new(),
            Some(names) => {
                names.split(',').map(|name| light("--move", name)).collect::<Result<_, _>>()?
            }
        };
        for name in &moved {
            let own = wishes.iter().filter(|w| w.subject == Subject::Light(name.clone())).count();
            if own != 1 {
                return Err(CliError::usage(
                    format!("--move {}: {own} wishes are for it", typed::quoted(name)),
                    format!("give it one wish, such as {name}=-2"),
                ));
            }
        }
        let options = BalanceOptions {
            at: point("--at", &self.at, &plan)?,
            dome: aim("--dome", &self.dome, &plan)?,
            key: self.key.as_deref().map(|name| light("--key", name)).transpose()?,
            moved,
            step_stops: self.steps.map(|steps| match steps {
                TypedSteps::Thirds => 1.0 / 3.0,
                TypedSteps::Tenths => 0.1,
                TypedSteps::Exact => 0.0,
            }),
            wishes,
            seed: self.seed,
        };
        if let Some(path) = &self.output {
            output::plan(path)?;
        }
        Ok((plan, options))
    }
}

pub(super) fn run(typed: Typed) -> Result<ExitCode, CliError> {
    let (plan, options) = typed.check()?;
    let bar = Bar::new(typed.quiet);
    let (new, balanced) = shoot::balance(&plan, &options, &|progress| bar.report(progress))
        .map_err(|error| CliError::working(error, &plan, &typed.plan))?;
    drop(bar);
    if let Some(path) = &typed.output {
        plan::write(&new, path)?;
    }
    if typed.json {
        print_json(&balanced)?;
    } else {
        let unit = if typed.feet { LengthUnit::Feet } else { LengthUnit::Metric };
        print(&table(&balanced, TableStyle { step: fstop::Step::Tenths, unit }))?;
    }
    Ok(ExitCode::from(u8::from(!balanced.met)))
}

fn table(balanced: &Balanced, style: TableStyle) -> String {
    let mut text = format!(
        "camera {}, {}, ISO {}; stops are counted from {}\n\n",
        Aperture { f_number: balanced.aperture },
        Shutter { seconds: balanced.shutter_s },
        balanced.iso,
        balanced.key
    );
    let mut rows =
        vec![cells(&["wish", "at", "wished", "that is", "reads now", "will read", "off"])];
    for wish in &balanced.wishes {
        let aperture = |n| style.aperture(Some(n));
        let mut row = vec![wish.of.clone(), wish.place.clone(), wish.wished.clone()];
        row.extend([wish.wished_f_number, wish.f_number_before, wish.f_number].map(aperture));
        row.push(hundredths(wish.off_stops));
        rows.push(row);
    }
    text += &columns(&rows);
    text.push('\n');
    let mut rows = vec![cells(&["light", "power", "set to", "room up", "room down"])];
    for light in &balanced.lights {
        let power = |stops| Power { stops }.to_string();
        let mut row = vec![light.name.clone(), power(light.power_before_stops)];
        row.push(power(light.power_stops));
        row.extend([light.headroom_up_stops, light.headroom_down_stops].map(|s| format!("{s:.1}")));
        if let (Some(before), Some(after)) = (light.distance_before_m, light.distance_m) {
            row.push(format!("from {} to {}", style.length(before), style.length(after)));
        }
        rows.push(row);
    }
    text += &columns(&rows);
    text += &format!(
        "\nall together at {}, dome toward the camera: {}, {} from the camera's setting\n",
        balanced.total.place,
        style.aperture(Some(balanced.total.f_number)),
        style.stops(Some(balanced.total.stops_vs_camera)),
    );
    if balanced.rounding_stops >= 0.005 {
        text += &format!("the heads' steps cost {:.2} stop at most\n", balanced.rounding_stops);
    }
    for light in &balanced.lights {
        if let Some(limit) = &light.limit {
            text += &limited(&light.name, limit);
        }
    }
    if !balanced.met && balanced.lights.iter().all(|light| light.limit.is_none()) {
        text += "\nthese wishes contradict each other; the powers are the nearest to all of them\n";
    }
    text
}

fn limited(name: &str, limit: &Limit) -> String {
    let mut text = format!("\n{name} is {} by {:.1} stops", limit.what, limit.by_stops.abs());
    if let Some(why) = &limit.why {
        text =
            format!("\n{name} {}: {why}; {:.1} stops are left", limit.what, limit.by_stops.abs());
    }
    text += "; any one of these would do:\n";
    for remedy in &limit.remedies {
        text += &format!("  {remedy}\n");
    }
    text
}

fn cells(row: &[&str]) -> Vec<String> {
    row.iter().map(|&cell| cell.to_owned()).collect()
}

fn hundredths(stops: f64) -> String {
    let stops = (stops * 100.0).round() / 100.0;
    let sign = if stops > 0.0 {
        "+"
    } else if stops < 0.0 {
        "−"
    } else {
        ""
    };
    format!("{sign}{:.2}", stops.abs())
}
