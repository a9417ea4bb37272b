//! How large the pieces of the rule are.

/// Sizes of the rule's pieces, pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RuleLook {
    /// Height of a lane.
    pub lane: f64,
    /// Room at the left for signs and names.
    pub left: f64,
    /// Room at the right for the counts.
    pub right: f64,
    /// Height of type.
    pub type_size: f64,
    /// Radius of the knob on the hairline.
    pub grip: f64,
    /// True where lanes have their names beside the signs.
    pub has_names: bool,
    /// True where short bars are drawn again, enlarged.
    pub has_detail: bool,
    /// True where the picture explains itself.
    pub has_legend: bool,
    /// True where tracks are told by outline and dark pattern alone.
    pub is_bare: bool,
}

impl RuleLook {
    /// For a window of the usual size, and for a page.
    pub const WINDOW: Self = Self {
        lane: 30.0,
        left: 104.0,
        right: 78.0,
        type_size: 14.0,
        grip: 8.0,
        has_names: true,
        has_detail: true,
        has_legend: true,
        is_bare: false,
    };
    /// For a room.
    pub const HALL: Self = Self {
        lane: 44.0,
        left: 56.0,
        right: 110.0,
        type_size: 21.0,
        grip: 11.0,
        has_names: false,
        has_detail: false,
        has_legend: false,
        is_bare: true,
    };
    /// For a hand.
    pub const PHONE: Self = Self {
        lane: 28.0,
        left: 34.0,
        right: 60.0,
        type_size: 14.0,
        grip: 12.0,
        has_names: false,
        has_detail: false,
        has_legend: false,
        is_bare: false,
    };

    /// Height of the scale under the lanes, with its labels.
    pub(super) fn axis(&self) -> f64 {
        self.grip.max(8.0) + 8.0 + 1.3 * self.type_size
    }

    pub(super) fn detail(&self) -> f64 {
        if self.has_detail {
            32.0 + 1.4 * self.type_size
        } else {
            0.0
        }
    }

    /// The height that the rule needs.
    pub fn height(&self) -> f64 {
        3.0 * self.lane + self.axis() + self.detail()
    }
}
