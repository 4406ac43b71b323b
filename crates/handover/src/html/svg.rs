//! Drawings as SVG inside a page.

use crate::drawing::{Drawing, Ink, SIGN, Shape, sign};
use crate::page::Standing;
use report::markup::escaped;

/// The sign of a verdict; its word stands beside it.
pub(super) fn of_standing(standing: Standing) -> String {
    format!("<svg viewBox=\"0 0 {SIGN} {SIGN}\" aria-hidden=\"true\">{}</svg>", shape(&sign(standing)))
}

/// A drawing with its words for those who do not see it.
pub(super) fn of(drawing: &Drawing) -> String {
    let (width, height, words) = (drawing.width, drawing.height, escaped(&drawing.words));
    let shapes: String = drawing.shapes.iter().map(shape).collect();
    format!(
        "<svg viewBox=\"0 0 {width} {height}\" width=\"{width}\" height=\"{height}\" role=\"img\" \
         aria-label=\"{words}\" font-family=\"sans-serif\"><title>{words}</title>{shapes}</svg>"
    )
}

fn hex([r, g, b]: Ink) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

fn shape(shape: &Shape) -> String {
    match shape {
        Shape::Ring { at: [x, y], radius, ink } => format!(
            "<circle cx=\"{x}\" cy=\"{y}\" r=\"{radius}\" fill=\"none\" stroke=\"{}\" stroke-width=\"2\"/>",
            hex(*ink)
        ),
        Shape::Block { at: [x, y], size: [width, height], ink } => format!(
            "<rect x=\"{x}\" y=\"{y:.1}\" width=\"{width}\" height=\"{height:.1}\" fill=\"{}\"/>",
            hex(*ink)
        ),
        Shape::Line { points, closed, broken, width, ink } => {
            let path: Vec<String> = points.iter().map(|[x, y]| format!("{x} {y:.1}")).collect();
            let end = if *closed { "Z" } else { "" };
            let dashes = if *broken { " stroke-dasharray=\"4 2\"" } else { "" };
            format!(
                "<path d=\"M{}{end}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\"{dashes}/>",
                path.join("L"),
                hex(*ink)
            )
        }
        Shape::Text { at: [x, y], size, bold, middle, ink, words } => format!(
            "<text x=\"{x}\" y=\"{y:.1}\" font-size=\"{size}\" fill=\"{}\"{}{}>{}</text>",
            hex(*ink),
            if *bold { " font-weight=\"600\"" } else { "" },
            if *middle { " text-anchor=\"middle\"" } else { "" },
            escaped(words)
        ),
    }
}
