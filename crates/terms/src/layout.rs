//! Layouts of array connectors: which positions exist, where they nominally lie on the face, and where the
//! guide holes are. Made from data by `profile`; checked here.

use crate::place::{Face, Point};
use crate::units::Um;

/// One populated position of a layout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place {
    /// The standard's number, from 1.
    pub position: u16,
    /// Row from 1 at the top with the key up.
    pub row: u16,
    /// Column from 1 at the left with the key up; unpopulated columns count.
    pub column: u16,
    /// Nominal centre on the face, um.
    pub at: Point<Face>,
}

/// The two guide holes, centred on the face's x axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GuidePair {
    /// Centre to centre.
    pub spacing: Um,
    /// Diameter of each hole.
    pub diameter: Um,
}

/// An array's layout: populated places in order of position, the lattice they lie on, the guide holes.
#[derive(Clone, Debug, PartialEq)]
pub struct Layout {
    /// `mpo-12` or whatever the file calls it.
    pub id: String,
    /// A line for people.
    pub title: String,
    /// Pitch along a row.
    pub pitch: Um,
    /// Pitch between rows; equal to `pitch` where there is one row.
    pub row_pitch: Um,
    /// Rows of the grid.
    pub rows: u16,
    /// Columns of the grid, populated or not.
    pub columns: u16,
    /// Nominal cladding diameter.
    pub cladding: Um,
    /// Populated places, in ascending order of position.
    pub places: Vec<Place>,
    /// The guide holes.
    pub guides: GuidePair,
}

/// Why a layout cannot be.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LayoutError {
    /// No populated place.
    #[error("the layout has no populated position")]
    Empty,
    /// A single fibre is no array.
    #[error("the layout has one position only; an array has at least two")]
    Single,
    /// A length that must be above zero is not.
    #[error("{0} must be a length above zero")]
    NotPositive(&'static str),
    /// Two places share a number or a site.
    #[error("position {0} appears twice or shares its site with another position")]
    Doubled(u16),
}

impl Layout {
    /// Checks a layout; sorts its places by position.
    ///
    /// # Errors
    /// One [`LayoutError`] for the first fault found.
    pub fn checked(mut self) -> Result<Layout, LayoutError> {
        for (name, value) in [
            ("pitch", self.pitch),
            ("row pitch", self.row_pitch),
            ("cladding", self.cladding),
            ("guide spacing", self.guides.spacing),
            ("guide diameter", self.guides.diameter),
        ] {
            if !(value.0.is_finite() && value.0 > 0.0) {
                return Err(LayoutError::NotPositive(name));
            }
        }
        match self.places.len() {
            0 => return Err(LayoutError::Empty),
            1 => return Err(LayoutError::Single),
            _ => {}
        }
        self.places.sort_by_key(|p| p.position);
        for (i, a) in self.places.iter().enumerate() {
            if self.places[..i]
                .iter()
                .any(|b| a.position == b.position || (a.row, a.column) == (b.row, b.column))
            {
                return Err(LayoutError::Doubled(a.position));
            }
        }
        Ok(self)
    }

    /// Nominal centre on the face of grid site (row, column), both from 1, populated or not.
    pub fn site(&self, row: u16, column: u16) -> Point<Face> {
        let x = (f64::from(column) - (f64::from(self.columns) + 1.0) / 2.0) * self.pitch.0;
        let y = ((f64::from(self.rows) + 1.0) / 2.0 - f64::from(row)) * self.row_pitch.0;
        Point::new(x, y)
    }

    /// The populated place at (row, column), if any.
    pub fn at(&self, row: u16, column: u16) -> Option<&Place> {
        self.places.iter().find(|p| (p.row, p.column) == (row, column))
    }
}
