//! Layouts for tests and examples, built here so that they depend on no file.

#[allow(dead_code)]
pub mod plain;

use terms::{GuidePair, Layout, Place, Point, Um};

/// The layout of a built-in id: `mpo-8`, `mpo-12`, `mpo-16`, `mpo-24` or `mpo-32`; anything else is 12 in a row.
pub fn layout(id: &str) -> Layout {
    let (rows, columns) = match id {
        "mpo-16" => (1, 16),
        "mpo-24" => (2, 12),
        "mpo-32" => (2, 16),
        _ => (1, 12),
    };
    let mut layout = grid(id, rows, columns);
    if id == "mpo-8" {
        layout.places.retain(|p| p.column <= 4 || p.column >= 9);
    }
    layout
}

/// That many rows and columns, every place taken.
pub fn grid(id: &str, rows: u16, columns: u16) -> Layout {
    let wide = columns > 12;
    let mut layout = Layout {
        id: id.into(),
        title: String::new(),
        pitch: Um(250.0),
        row_pitch: Um(if rows > 1 { 500.0 } else { 250.0 }),
        rows,
        columns,
        cladding: Um(125.0),
        places: Vec::new(),
        guides: GuidePair {
            spacing: Um(if wide { 5300.0 } else { 4600.0 }),
            diameter: Um(if wide { 550.0 } else { 700.0 }),
        },
    };
    for row in 1..=rows {
        for column in 1..=columns {
            let at = layout.site(row, column);
            let position = (row - 1) * columns + column;
            layout.places.push(Place { position, row, column, at: Point::new(at.x, at.y) });
        }
    }
    layout
}
