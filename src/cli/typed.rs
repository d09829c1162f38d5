//! Arguments that several verbs share, from typed to checked.

use clap::{Args, ValueEnum};

use super::error::CliError;
use crate::plan::Plan;
use crate::plan::suggest::nearest;
use crate::shoot::{Device, Engine, EngineOptions, Settle};

/// What every verb that makes pictures takes.
#[derive(Debug, Args)]
pub(super) struct EngineArgs {
    /// Which engine renders
    #[arg(long, value_enum, default_value = "auto")]
    engine: TypedEngine,
    /// Where it renders: auto takes a graphics card if there is a real one
    #[arg(long, value_enum, default_value = "auto")]
    device: TypedDevice,
    /// Part of the name of the graphics card to use (or set FORESHADOW_ADAPTER)
    #[arg(long, value_name = "NAME")]
    adapter: Option<String>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum TypedEngine {
    Auto,
    Trace,
    Raster,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum TypedDevice {
    Auto,
    Cpu,
    Gpu,
}

impl EngineArgs {
    /// As `shoot` takes them.
    pub(super) fn check(&self) -> EngineOptions {
        EngineOptions {
            engine: match self.engine {
                TypedEngine::Auto => Engine::Auto,
                TypedEngine::Trace => Engine::Trace,
                TypedEngine::Raster => Engine::Raster,
            },
            device: match self.device {
                TypedDevice::Auto => Device::Auto,
                TypedDevice::Cpu => Device::Cpu,
                TypedDevice::Gpu => Device::Gpu,
            },
            adapter: self.adapter.clone(),
        }
    }
}

/// Pixels on a side.
const SIDES: std::ops::RangeInclusive<u32> = 16..=16_384;
/// Pixels in all; how many lights they may have is for `shoot` to say.
const MOST_PIXELS: u64 = 64 << 20;

/// `WxH` in pixels.
pub(super) fn size(typed: &str) -> Result<(u32, u32), CliError> {
    let sides = typed.split_once(['x', 'X', '×']).and_then(|(w, h)| {
        let side = |t: &str| t.trim().parse::<u32>().ok().filter(|n| SIDES.contains(n));
        Some((side(w)?, side(h)?))
    });
    let Some((width, height)) = sides else {
        return Err(CliError::usage(
            format!("--size {}: this is no picture size", quoted(typed)),
            "write pixels across and down, 16 to 16384 each, such as 960x640",
        ));
    };
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(CliError::usage(
            format!(
                "--size {typed}: {} megapixels are too many",
                u64::from(width) * u64::from(height) / 1_000_000
            ),
            format!("keep width times height under {} megapixels", MOST_PIXELS >> 20),
        ));
    }
    Ok((width, height))
}

/// `--samples N` or `--within STOPS`.
pub(super) fn settle(samples: Option<&str>, within: Option<&str>) -> Result<Settle, CliError> {
    if let Some(typed) = samples {
        return match typed.parse::<u32>().ok().filter(|n| (1..=65_536).contains(n)) {
            Some(count) => Ok(Settle::Samples(count)),
            None => Err(CliError::usage(
                format!("--samples {}: this is no number of samples", quoted(typed)),
                "write from 1 to 65536, or `--within 0.05` to stop by quality",
            )),
        };
    }
    let Some(typed) = within else { return Ok(Settle::default()) };
    match typed.parse::<f64>().ok().filter(|s| (0.005..=2.0).contains(s)) {
        Some(stops) => Ok(Settle::Within { stops }),
        None => Err(CliError::usage(
            format!("--within {}: this is no tolerance", quoted(typed)),
            "write stops from 0.005 to 2, such as 0.05",
        )),
    }
}

/// `key,rim`: names of lights in the plan.
pub(super) fn only(typed: Option<&str>, plan: &Plan) -> Result<Vec<String>, CliError> {
    let Some(typed) = typed else { return Ok(Vec::new()) };
    typed.split(',').map(|name| light("--only", name.trim(), plan)).collect()
}

/// The name of one of the plan's lights.
pub(super) fn light(argument: &str, name: &str, plan: &Plan) -> Result<String, CliError> {
    let ambient = plan.ambient.is_some().then_some("ambient");
    let lamps = plan.lamps.iter().map(|lamp| lamp.name.as_str());
    let windows = plan.windows.iter().map(|window| window.name.as_str());
    let lights = plan.lights.iter().map(|light| light.name.as_str());
    let known: Vec<&str> = lights.chain(lamps).chain(windows).chain(ambient).collect();
    one_of(argument, name, "light", &known)
}

/// `name` if it is one of `known`.
pub(super) fn one_of(
    argument: &str,
    name: &str,
    what: &str,
    known: &[&str],
) -> Result<String, CliError> {
    if known.contains(&name) {
        return Ok(name.into());
    }
    let remedy = match nearest(name, known.iter().copied()) {
        Some(near) => format!("did you mean `{near}`?"),
        None => format!("name one of {}", known.join(", ")),
    };
    Err(CliError::usage(
        format!("{argument} {}: the plan has no such {what}", quoted(name)),
        remedy,
    ))
}

/// What was typed as one line for a page.
pub(super) fn line(typed: &str) -> String {
    typed.chars().map(|c| if c.is_control() { ' ' } else { c }).take(120).collect()
}

/// What was typed, cut and cleaned for a message.
pub(super) fn quoted(typed: &str) -> String {
    let short: String = typed.chars().take(40).collect();
    format!("\"{}\"", short.escape_debug())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sizes() {
        assert_eq!(size("960x640").unwrap(), (960, 640));
        for bad in ["", "960", "0x0", "15x100", "-5x5", "axb", "1e3x1e3", "99999x16", "16384x16384"]
        {
            assert!(size(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn settling() {
        assert_eq!(settle(None, None).unwrap(), Settle::Within { stops: 0.05 });
        assert_eq!(settle(Some("64"), None).unwrap(), Settle::Samples(64));
        assert_eq!(settle(None, Some("0.1")).unwrap(), Settle::Within { stops: 0.1 });
        for bad in ["0", "1000000000", "-1", "many", "65537", "1.5"] {
            assert!(settle(Some(bad), None).is_err(), "{bad}");
        }
        for bad in ["0", "nan", "inf", "-0.1", "3", "x"] {
            assert!(settle(None, Some(bad)).is_err(), "{bad}");
        }
    }
}
