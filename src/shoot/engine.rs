//! Which engine makes the layers, and where it runs.

use super::ShootError;
use super::options::{Device, EngineOptions};
use crate::gpu::{Choice, Gpu};
use crate::layers::Layers;
use crate::trace::gpu::GpuTracer;
use crate::trace::{Options, Progress, Tracer, Under};

/// Renders a tracer's layers where the options say; `note` is told where it is another place.
pub fn render(
    tracer: &Tracer,
    engine: &EngineOptions,
    options: &Options,
    under: &Under<'_>,
    note: &dyn Fn(&'static str),
    progress: &mut dyn FnMut(Progress) -> bool,
) -> Result<Layers, ShootError> {
    if let Some(gpu) = card(engine)? {
        let on_card = GpuTracer::new(&gpu, tracer)
            .and_then(|card| card.render_over(tracer, options, under, progress));
        match on_card {
            Ok((layers, _)) => return Ok(layers),
            // nobody asked for the card
            Err(_) if engine.device == Device::Auto && engine.adapter.is_none() => note(ON_CORES),
            Err(fault) => return Err(fault.into()),
        }
    }
    Ok(tracer.render_over(options, under, progress))
}

/// Said where a card was there and did not do.
const ON_CORES: &str = "note: the graphics card cannot take this set, so the processor renders it \
                        (--device gpu says why)";

/// The card to use; none for the processor.
fn card(engine: &EngineOptions) -> Result<Option<Gpu>, ShootError> {
    let choice = match &engine.adapter {
        Some(name) => Choice::Named(name.clone()),
        None => Choice::Auto,
    };
    match engine.device {
        Device::Cpu => Ok(None),
        Device::Gpu => Ok(Some(Gpu::open(&choice)?)),
        // a card that was named is wanted, and a driver on the processor is slower than we are
        Device::Auto if engine.adapter.is_some() => Ok(Some(Gpu::open(&choice)?)),
        Device::Auto => Ok(Gpu::open(&choice).ok().filter(Gpu::is_real)),
    }
}

/// The card that shadow mapping draws on: a software one will do.
pub fn drawing_card(engine: &EngineOptions) -> Result<Gpu, ShootError> {
    if engine.device == Device::Cpu {
        return Err(ShootError::RasterOnCpu);
    }
    let choice = match &engine.adapter {
        Some(name) => Choice::Named(name.clone()),
        None => Choice::Auto,
    };
    Ok(Gpu::open(&choice)?)
}
