//! Devices by themselves: their laws and models, and their values found from a sweep.

mod extraction;
mod extraction_starts;
mod handbook;
mod parts;
mod real_parts;
mod scipy_fits;
