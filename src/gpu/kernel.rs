//! Compute pipelines with their bindings, made once.

use super::device::Gpu;
use super::error::GpuError;

/// What a binding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slot {
    /// A uniform buffer.
    Uniform,
    /// A storage buffer that is read.
    Read,
    /// A storage buffer that is written.
    Write,
}

/// A compute pipeline.
#[derive(Debug)]
pub struct Kernel {
    /// To be set on a pass.
    pub pipeline: wgpu::ComputePipeline,
}

impl Gpu {
    /// A group of buffers at bindings 0, 1, …
    pub fn layout(
        &self,
        what: &str,
        visibility: wgpu::ShaderStages,
        slots: &[Slot],
    ) -> wgpu::BindGroupLayout {
        let entries: Vec<wgpu::BindGroupLayoutEntry> = slots
            .iter()
            .enumerate()
            .map(|(binding, slot)| wgpu::BindGroupLayoutEntry {
                binding: binding as u32,
                visibility,
                ty: wgpu::BindingType::Buffer {
                    ty: match slot {
                        Slot::Uniform => wgpu::BufferBindingType::Uniform,
                        Slot::Read => wgpu::BufferBindingType::Storage { read_only: true },
                        Slot::Write => wgpu::BufferBindingType::Storage { read_only: false },
                    },
                    has_dynamic_offset: false,
                    min_binding_size: None,
                },
                count: None,
            })
            .collect();
        self.device.create_bind_group_layout(&wgpu::BindGroupLayoutDescriptor {
            label: Some(what),
            entries: &entries,
        })
    }

    /// Binds buffers to a layout, in order.
    pub fn group(
        &self,
        what: &str,
        layout: &wgpu::BindGroupLayout,
        buffers: &[&wgpu::Buffer],
    ) -> wgpu::BindGroup {
        let entries: Vec<wgpu::BindGroupEntry> = buffers
            .iter()
            .enumerate()
            .map(|(binding, buffer)| wgpu::BindGroupEntry {
                binding: binding as u32,
                resource: buffer.as_entire_binding(),
            })
            .collect();
        self.device.create_bind_group(&wgpu::BindGroupDescriptor {
            label: Some(what),
            layout,
            entries: &entries,
        })
    }

    /// Compiles an assembled module.
    ///
    /// # Errors
    /// A fault in the shader.
    pub fn module(&self, what: &str, source: &str) -> Result<wgpu::ShaderModule, GpuError> {
        let scope = self.device.push_error_scope(wgpu::ErrorFilter::Validation);
        let module = self.device.create_shader_module(wgpu::ShaderModuleDescriptor {
            label: Some(what),
            source: wgpu::ShaderSource::Wgsl(source.into()),
        });
        match pollster::block_on(scope.pop()) {
            None => Ok(module),
            Some(fault) => Err(self.fault(format!("{what}: {fault}"))),
        }
    }

    /// What a pipeline is bound to, group after group.
    pub fn pipeline_layout(
        &self,
        what: &str,
        groups: &[&wgpu::BindGroupLayout],
    ) -> wgpu::PipelineLayout {
        let groups: Vec<Option<&wgpu::BindGroupLayout>> = groups.iter().map(|g| Some(*g)).collect();
        self.device.create_pipeline_layout(&wgpu::PipelineLayoutDescriptor {
            label: Some(what),
            bind_group_layouts: &groups,
            immediate_size: 0,
        })
    }

    /// The compute pipeline of an entry point.
    ///
    /// # Errors
    /// A fault in the shader, or bindings that do not fit it.
    pub fn kernel(
        &self,
        what: &str,
        source: &str,
        entry: &str,
        groups: &[&wgpu::BindGroupLayout],
    ) -> Result<Kernel, GpuError> {
        let module = self.module(what, source)?;
        let scope = self.device.push_error_scope(wgpu::ErrorFilter::Validation);
        let layout = self.pipeline_layout(what, groups);
        let pipeline = self.device.create_compute_pipeline(&wgpu::ComputePipelineDescriptor {
            label: Some(what),
            layout: Some(&layout),
            module: &module,
            entry_point: Some(entry),
            compilation_options: wgpu::PipelineCompilationOptions {
                // everything is written before it is read, but for sums, which are buffers
                zero_initialize_workgroup_memory: false,
                ..Default::default()
            },
            cache: None,
        });
        match pollster::block_on(scope.pop()) {
            None => Ok(Kernel { pipeline }),
            Some(fault) => Err(self.fault(format!("{what}: {fault}"))),
        }
    }
}
