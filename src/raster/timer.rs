//! Times of passes on the card, by timestamp queries.

use std::cell::RefCell;

use crate::gpu::{Gpu, GpuError};

/// Passes that one timer has room for.
const MOST: u32 = 128;

/// Takes the time of each pass that asks for it.
pub struct Timer {
    queries: wgpu::QuerySet,
    names: RefCell<Vec<&'static str>>,
}

impl Timer {
    /// None where the card has no clock.
    pub fn new(gpu: &Gpu) -> Option<Self> {
        gpu.has_timestamps.then(|| Self {
            queries: gpu.device.create_query_set(&wgpu::QuerySetDescriptor {
                label: Some("times"),
                ty: wgpu::QueryType::Timestamp,
                count: 2 * MOST,
            }),
            names: RefCell::new(Vec::new()),
        })
    }

    fn next(&self, name: &'static str) -> Option<u32> {
        let mut names = self.names.borrow_mut();
        let at = names.len() as u32;
        (at < MOST).then(|| {
            names.push(name);
            2 * at
        })
    }

    /// Of a pass that draws.
    pub fn render(&self, name: &'static str) -> Option<wgpu::RenderPassTimestampWrites<'_>> {
        self.next(name).map(|at| wgpu::RenderPassTimestampWrites {
            query_set: &self.queries,
            beginning_of_pass_write_index: Some(at),
            end_of_pass_write_index: Some(at + 1),
        })
    }

    /// Of a pass that computes.
    pub fn compute(&self, name: &'static str) -> Option<wgpu::ComputePassTimestampWrites<'_>> {
        self.next(name).map(|at| wgpu::ComputePassTimestampWrites {
            query_set: &self.queries,
            beginning_of_pass_write_index: Some(at),
            end_of_pass_write_index: Some(at + 1),
        })
    }

    /// Milliseconds and how many passes there were, by name.
    ///
    /// # Errors
    /// A card that fails.
    pub fn read(&self, gpu: &Gpu) -> Result<Vec<(&'static str, f64, u32)>, GpuError> {
        let names = self.names.borrow();
        let count = 2 * names.len() as u32;
        let resolved = gpu.device.create_buffer(&wgpu::BufferDescriptor {
            label: Some("times"),
            size: u64::from(MOST) * 16,
            usage: wgpu::BufferUsages::QUERY_RESOLVE | wgpu::BufferUsages::COPY_SRC,
            mapped_at_creation: false,
        });
        let mut encoder = gpu.device.create_command_encoder(&Default::default());
        encoder.resolve_query_set(&self.queries, 0..count, &resolved, 0);
        gpu.queue.submit([encoder.finish()]);
        let ticks: Vec<u64> = gpu.read(&resolved, 0, u64::from(count))?;
        let tick_ms = f64::from(gpu.queue.get_timestamp_period()) * 1e-6;
        let mut sums: Vec<(&'static str, f64, u32)> = Vec::new();
        for (name, pair) in names.iter().zip(ticks.chunks_exact(2)) {
            let ms = pair[1].saturating_sub(pair[0]) as f64 * tick_ms;
            match sums.iter_mut().find(|(known, ..)| known == name) {
                Some(sum) => *sum = (name, sum.1 + ms, sum.2 + 1),
                None => sums.push((name, ms, 1)),
            }
        }
        Ok(sums)
    }
}
