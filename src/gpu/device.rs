//! One card, opened with as little as it must have.

use std::sync::{Arc, Mutex};

use bytemuck::Pod;
use wgpu::util::DeviceExt;

use super::error::GpuError;

/// Environment variable that picks the card where no flag does.
const VARIABLE: &str = "FORESHADOW_ADAPTER";

/// Which card.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Choice {
    /// What `FORESHADOW_ADAPTER` names, else the fastest kind.
    #[default]
    Auto,
    /// Part of the card's name, in any case.
    Named(String),
}

/// An open card.
#[derive(Debug, Clone)]
pub struct Gpu {
    /// Makes things.
    pub device: wgpu::Device,
    /// Takes work.
    pub queue: wgpu::Queue,
    /// Name and kind.
    pub info: wgpu::AdapterInfo,
    /// Whether passes can be timed.
    pub has_timestamps: bool,
    trouble: Arc<Mutex<Option<GpuError>>>,
}

/// Real cards first.
fn rank(kind: wgpu::DeviceType) -> u32 {
    match kind {
        wgpu::DeviceType::DiscreteGpu => 0,
        wgpu::DeviceType::IntegratedGpu => 1,
        wgpu::DeviceType::VirtualGpu => 2,
        wgpu::DeviceType::Other => 3,
        wgpu::DeviceType::Cpu => 4,
    }
}

/// All cards that can compute, the fastest kind first.
fn adapters() -> Vec<wgpu::Adapter> {
    let mut description = wgpu::InstanceDescriptor::new_without_display_handle();
    description.backends = wgpu::Backends::PRIMARY;
    let instance = wgpu::Instance::new(description);
    let mut found = pollster::block_on(instance.enumerate_adapters(wgpu::Backends::PRIMARY));
    found.retain(|adapter| {
        let flags = adapter.get_downlevel_capabilities().flags;
        flags.contains(wgpu::DownlevelFlags::COMPUTE_SHADERS)
    });
    found.sort_by_key(|adapter| rank(adapter.get_info().device_type));
    found
}

impl Gpu {
    /// Opens a card.
    ///
    /// # Errors
    /// No card, not the one that was asked for, or a driver that refuses.
    pub fn open(choice: &Choice) -> Result<Self, GpuError> {
        let found = adapters();
        let wanted = match choice {
            Choice::Named(name) => Some(name.clone()),
            Choice::Auto => std::env::var(VARIABLE).ok().filter(|name| !name.is_empty()),
        };
        let adapter = match &wanted {
            None => found.into_iter().next().ok_or(GpuError::NoAdapter)?,
            Some(_) if found.is_empty() => return Err(GpuError::NoAdapter),
            Some(name) => {
                let known = found.iter().map(|adapter| adapter.get_info().name).collect();
                let part = name.to_lowercase();
                let mut found = found.into_iter();
                found
                    .find(|adapter| adapter.get_info().name.to_lowercase().contains(&part))
                    .ok_or(GpuError::NoSuchAdapter { wanted: name.clone(), known })?
            }
        };
        Self::on(&adapter)
    }

    /// Whether there is a card that is not the processor itself.
    pub fn is_real(&self) -> bool {
        self.info.device_type != wgpu::DeviceType::Cpu
    }

    fn on(adapter: &wgpu::Adapter) -> Result<Self, GpuError> {
        let info = adapter.get_info();
        let has_timestamps = adapter.features().contains(wgpu::Features::TIMESTAMP_QUERY);
        // what every WebGPU device has, but for the size of buffers: as large as this one takes
        let most = adapter.limits();
        let limits = wgpu::Limits {
            max_buffer_size: most.max_buffer_size,
            max_storage_buffer_binding_size: most.max_storage_buffer_binding_size,
            ..wgpu::Limits::default()
        };
        let description = wgpu::DeviceDescriptor {
            label: Some("foreshadow"),
            required_features: if has_timestamps {
                wgpu::Features::TIMESTAMP_QUERY
            } else {
                wgpu::Features::empty()
            },
            required_limits: limits,
            ..wgpu::DeviceDescriptor::default()
        };
        let opened = pollster::block_on(adapter.request_device(&description));
        let (device, queue) = opened.map_err(|fault| GpuError::Refused {
            name: info.name.clone(),
            reason: fault.to_string(),
        })?;
        let trouble = Arc::new(Mutex::new(None));
        let name = info.name.clone();
        let keep = Arc::clone(&trouble);
        device.on_uncaptured_error(Arc::new(move |fault| note(&keep, trouble_of(&name, &fault))));
        let name = info.name.clone();
        let keep = Arc::clone(&trouble);
        device.set_device_lost_callback(move |reason, words| {
            if reason != wgpu::DeviceLostReason::Destroyed {
                note(&keep, GpuError::Lost { name: name.clone(), reason: words });
            }
        });
        Ok(Self { device, queue, info, has_timestamps, trouble })
    }

    /// What has gone wrong since the card was opened, if anything.
    ///
    /// # Errors
    /// The first trouble: lost, out of memory, or a fault of ours.
    pub fn check(&self) -> Result<(), GpuError> {
        let trouble = match self.trouble.lock() {
            Ok(trouble) => trouble.clone(),
            Err(poisoned) => poisoned.into_inner().clone(),
        };
        trouble.map_or(Ok(()), Err)
    }

    /// A fault of ours on this card.
    pub(super) fn fault(&self, reason: impl Into<String>) -> GpuError {
        GpuError::Fault { name: self.info.name.clone(), reason: reason.into() }
    }

    /// Largest storage buffer in bytes.
    pub fn most_bytes(&self) -> u64 {
        let limits = self.device.limits();
        limits.max_storage_buffer_binding_size.min(limits.max_buffer_size)
    }

    fn fits(&self, what: &str, bytes: u64) -> Result<(), GpuError> {
        let most = self.most_bytes();
        if bytes <= most {
            return Ok(());
        }
        Err(GpuError::TooLarge {
            name: self.info.name.clone(),
            what: what.into(),
            megabytes: bytes.div_ceil(1 << 20),
            most_megabytes: most >> 20,
        })
    }

    /// A storage buffer filled with `data` (one element of zeros if it is empty: a binding may
    /// not be).
    ///
    /// # Errors
    /// Where it is larger than the card takes in one piece.
    pub fn storage<T: Pod>(&self, what: &str, data: &[T]) -> Result<wgpu::Buffer, GpuError> {
        self.filled(what, data, wgpu::BufferUsages::STORAGE)
    }

    /// A buffer of any use filled with `data`.
    ///
    /// # Errors
    /// Where it is larger than the card takes in one piece.
    pub fn filled<T: Pod>(
        &self,
        what: &str,
        data: &[T],
        usage: wgpu::BufferUsages,
    ) -> Result<wgpu::Buffer, GpuError> {
        let zero = [T::zeroed()];
        let contents: &[u8] = bytemuck::cast_slice(if data.is_empty() { &zero } else { data });
        self.fits(what, contents.len() as u64)?;
        Ok(self.device.create_buffer_init(&wgpu::util::BufferInitDescriptor {
            label: Some(what),
            contents,
            usage: usage | wgpu::BufferUsages::COPY_DST,
        }))
    }

    /// A storage buffer of zeros, to be written by the card and read back.
    ///
    /// # Errors
    /// Where it is larger than the card takes in one piece.
    pub fn zeros(&self, what: &str, bytes: u64) -> Result<wgpu::Buffer, GpuError> {
        self.fits(what, bytes)?;
        Ok(self.device.create_buffer(&wgpu::BufferDescriptor {
            label: Some(what),
            size: bytes.max(16).next_multiple_of(4),
            usage: wgpu::BufferUsages::STORAGE
                | wgpu::BufferUsages::COPY_SRC
                | wgpu::BufferUsages::COPY_DST,
            mapped_at_creation: false,
        }))
    }

    /// A uniform buffer, to be written with [`wgpu::Queue::write_buffer`].
    pub fn uniform<T: Pod>(&self, what: &str, value: &T) -> wgpu::Buffer {
        self.device.create_buffer_init(&wgpu::util::BufferInitDescriptor {
            label: Some(what),
            contents: bytemuck::bytes_of(value),
            usage: wgpu::BufferUsages::UNIFORM | wgpu::BufferUsages::COPY_DST,
        })
    }

    /// Reads `count` elements of `buffer` from element `first` on. Waits for the card.
    ///
    /// # Errors
    /// Where the card is lost, or anything else went wrong since it was opened.
    pub fn read<T: Pod>(
        &self,
        buffer: &wgpu::Buffer,
        first: u64,
        count: u64,
    ) -> Result<Vec<T>, GpuError> {
        let size = size_of::<T>() as u64;
        let staging = self.device.create_buffer(&wgpu::BufferDescriptor {
            label: Some("read back"),
            size: (count * size).max(4),
            usage: wgpu::BufferUsages::MAP_READ | wgpu::BufferUsages::COPY_DST,
            mapped_at_creation: false,
        });
        let mut encoder = self.device.create_command_encoder(&Default::default());
        encoder.copy_buffer_to_buffer(buffer, first * size, &staging, 0, count * size);
        self.queue.submit([encoder.finish()]);
        staging.map_async(wgpu::MapMode::Read, .., |_| {});
        self.wait()?;
        let view = staging
            .get_mapped_range(..)
            .map_err(|_| self.check().err().unwrap_or_else(|| self.fault("no read-back")))?;
        // not cast in place: a mapping need not be aligned to T
        Ok(bytemuck::pod_collect_to_vec(&view[..(count * size) as usize]))
    }

    /// Waits until all work is done.
    ///
    /// # Errors
    /// Where the card is lost, or anything else went wrong since it was opened.
    pub fn wait(&self) -> Result<(), GpuError> {
        let polled = self.device.poll(wgpu::PollType::wait_indefinitely());
        self.check()?;
        polled.map(|_| ()).map_err(|fault| GpuError::Lost {
            name: self.info.name.clone(),
            reason: fault.to_string(),
        })
    }
}

/// Keeps the first trouble: later ones follow from it.
fn note(keep: &Mutex<Option<GpuError>>, trouble: GpuError) {
    let mut kept = match keep.lock() {
        Ok(kept) => kept,
        Err(poisoned) => poisoned.into_inner(),
    };
    kept.get_or_insert(trouble);
}

fn trouble_of(name: &str, fault: &wgpu::Error) -> GpuError {
    match fault {
        wgpu::Error::OutOfMemory { .. } => GpuError::OutOfMemory { name: name.into() },
        other => GpuError::Fault { name: name.into(), reason: other.to_string() },
    }
}
