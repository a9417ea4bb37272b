//! What stands above the data, once it is read.

use crate::{Format, Mode, Parameter, Remark, Unit, Version};

/// How the cells of a matrix follow each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Layout {
    /// Row by row.
    Rows,
    /// 11, 21, 12, 22.
    DownFirst,
    /// Row by row up to the diagonal, symmetric.
    Lower,
    /// Row by row from the diagonal, symmetric.
    Upper,
}

impl Layout {
    /// Cells written of a matrix.
    pub fn cells(self, ports: usize) -> usize {
        match self {
            Self::Rows | Self::DownFirst => ports * ports,
            Self::Lower | Self::Upper => ports * (ports + 1) / 2,
        }
    }
}

#[derive(Debug, Clone)]
pub(crate) struct Header {
    pub version: Version,
    pub unit: Unit,
    pub parameter: Parameter,
    pub format: Format,
    pub ports: usize,
    pub references_ohm: Vec<f64>,
    pub layout: Layout,
    pub frequencies: Option<usize>,
    pub noise_frequencies: Option<usize>,
    pub modes: Vec<Mode>,
    pub comments: Vec<String>,
    pub remarks: Vec<Remark>,
}

/// Keeps the first remark of each kind, so that their number is bounded.
pub(crate) fn note(remarks: &mut Vec<Remark>, remark: Remark) {
    let kind = std::mem::discriminant(&remark);
    if remarks.iter().all(|r| std::mem::discriminant(r) != kind) {
        remarks.push(remark);
    }
}
