//! The figures of a study as curves and scatter, SVG. Colours are those of Okabe and Ito (2008, Color Universal
//! Design); every class has a sign and a way of breaking its line as well. What they mean stands below the plot, where it
//! covers nothing.

use super::record::{DetectionRecord, ScatterRecord, StudyRecord};
use plotters::coord::Shift;
use plotters::coord::ranged1d::{Ranged, ValueFormatter};
use plotters::element::{DashedPathElement, DynElement, IntoDynElement};
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{FontStyle, register_font};

/// Why a plot cannot be drawn.
#[derive(Debug, thiserror::Error)]
#[error("the plot {name} cannot be drawn: {why}")]
pub struct PlotError {
    name: &'static str,
    why: String,
}

/// A plot cannot be drawn, in plotters' words.
type Drawn = Result<(), DrawingAreaErrorKind<std::io::Error>>;
type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;

const FONT: &str = "sans-serif";
const SIZE: (u32, u32) = (760, 480);
/// Height of a line of the legend, and how many entries stand in one.
const ENTRY: (u32, u32) = (24, 2);
/// Dash and gap of each class's line, pixels; the first is whole.
const DASHES: [(u32, u32); 6] = [(100_000, 1), (12, 6), (3, 4), (22, 5), (7, 3), (3, 10)];
const COLOURS: [RGBColor; 6] = [
    RGBColor(0x00, 0x72, 0xb2),
    RGBColor(0xd5, 0x5e, 0x00),
    RGBColor(0x00, 0x7a, 0x5a),
    RGBColor(0xb0, 0x5f, 0x90),
    RGBColor(0x9a, 0x74, 0x00),
    RGBColor(0x1c, 0x1c, 0x1c),
];

/// The plots of a study with the names of their files, without those that have nothing to show.
///
/// # Errors
/// [`PlotError`] if plotters cannot draw one.
pub fn plots(record: &StudyRecord) -> Result<Vec<(&'static str, String)>, PlotError> {
    // Registering again replaces the font by itself; an error tells of a font that is none, and drawing says so.
    let _ = register_font(FONT, FontStyle::Normal, crate::font::bytes(crate::font::Weight::Regular));
    let mut made = Vec::new();
    if let Some(truth) = record.truth.as_ref().filter(|t| !t.detection.is_empty()) {
        let names: Vec<String> = truth.detection.iter().map(named).collect();
        let plot = drawn("detection.svg", &names, true, |area| curves(area, &truth.detection))?;
        made.push(("detection.svg", plot));
    }
    if let Some(repeats) = record.repeats.as_ref().filter(|r| !r.scatter.is_empty()) {
        let mut sorts: Vec<String> = repeats.scatter.iter().map(|m| m.of.clone()).collect();
        sorts.sort_unstable();
        sorts.dedup();
        let plot = drawn("repeats.svg", &sorts, false, |area| scatter(area, &repeats.scatter, &sorts))?;
        made.push(("repeats.svg", plot));
    }
    Ok(made)
}

/// A plot and below it the legend of its classes, `lined` if they have lines.
fn drawn(
    name: &'static str,
    classes: &[String],
    lined: bool,
    draw: impl Fn(&Area) -> Drawn,
) -> Result<String, PlotError> {
    let mut svg = String::new();
    {
        let below = ENTRY.0 * (classes.len() as u32).div_ceil(ENTRY.1) + 10;
        let area = SVGBackend::with_string(&mut svg, (SIZE.0, SIZE.1 + below)).into_drawing_area();
        let (plot, foot) = area.split_vertically(SIZE.1);
        let all = area.fill(&WHITE).and_then(|()| draw(&plot)).and_then(|()| legend(&foot, classes, lined));
        all.and_then(|()| area.present()).map_err(|e| PlotError { name, why: e.to_string() })?;
    }
    Ok(svg)
}

/// A class in words.
fn named(class: &DetectionRecord) -> String {
    let [from, to] = class.contrast.map(|c| (100.0 * c).round());
    let contrast = if from == to { format!("{from}") } else { format!("{from} to {to}") };
    format!("{} {contrast} %: a90 {}", class.kind, words(class.a90_um))
}

fn legend(area: &Area, classes: &[String], lined: bool) -> Drawn {
    for (k, name) in classes.iter().enumerate() {
        let (column, row) = (k as u32 % ENTRY.1, k as u32 / ENTRY.1);
        let (x, y) = ((66 + column * 350) as i32, (ENTRY.0 * row + ENTRY.0 / 2) as i32);
        if lined {
            area.draw(&line(k, [(x, y), (x + 56, y)].into_iter()))?;
        }
        area.draw(&sign(k, (x + 28, y)))?;
        let style = TextStyle::from((FONT, 14).into_font()).pos(Pos::new(HPos::Left, VPos::Center));
        area.draw(&Text::new(name.clone(), (x + 66, y), style))?;
    }
    Ok(())
}

/// Probability of detection by size, a curve for each class and what was counted.
fn curves(area: &Area, classes: &[DetectionRecord]) -> Drawn {
    let sizes = classes.iter().flat_map(|c| c.by_size.iter().map(|b| b.size_um));
    let (low, high) = ends(sizes, 1.15);
    let mut chart = ChartBuilder::on(area)
        .margin(14)
        .caption("Probability of detection by size", (FONT, 18))
        .x_label_area_size(42)
        .y_label_area_size(52)
        .build_cartesian_2d(low.log2()..high.log2(), 0.0..1.02)?;
    mesh(&mut chart, ("size, µm", &|v| short(v.exp2())), "share seen")?;
    for (k, class) in classes.iter().enumerate() {
        if let Some([intercept, slope]) = class.curve {
            let at = |x: f64| 1.0 / (1.0 + (-intercept - slope * x.ln()).exp());
            let steps = (0..=160).map(|i| low * (high / low).powf(f64::from(i) / 160.0));
            let course: Vec<(f64, f64)> = steps.map(|x| (x.log2(), at(x))).collect();
            chart.draw_series([line(k, course.into_iter())])?;
        }
        let places: Vec<(f64, f64)> =
            class.by_size.iter().filter_map(|b| Some((b.size_um.log2(), b.seen.share?))).collect();
        chart.draw_series(places.into_iter().map(|at| sign(k, at)))?;
    }
    Ok(())
}

/// Scatter of each mark's size over its pictures.
fn scatter(area: &Area, marks: &[ScatterRecord], sorts: &[String]) -> Drawn {
    let (low, high) = ends(marks.iter().map(|m| m.mean_um), 1.2);
    let top = marks.iter().map(|m| m.sd_um).fold(0.05, f64::max) * 1.1;
    let mut chart = ChartBuilder::on(area)
        .margin(14)
        .caption("Scatter of sizes over repeated pictures", (FONT, 18))
        .x_label_area_size(42)
        .y_label_area_size(52)
        .build_cartesian_2d(low.log2()..high.log2(), 0.0..top)?;
    mesh(&mut chart, ("mean size, µm", &|v| short(v.exp2())), "standard deviation, µm")?;
    for (k, sort) in sorts.iter().enumerate() {
        let places: Vec<(f64, f64)> =
            marks.iter().filter(|m| m.of == *sort).map(|m| (m.mean_um.log2(), m.sd_um)).collect();
        chart.draw_series(places.into_iter().map(|at| sign(k, at)))?;
    }
    Ok(())
}

fn words(size: Option<f64>) -> String {
    size.map_or_else(|| "not determined".to_owned(), |s| format!("{s:.2} µm"))
}

/// The least and greatest of the values, moved apart by a factor.
fn ends(values: impl Iterator<Item = f64>, apart: f64) -> (f64, f64) {
    let (low, high) =
        values.filter(|v| *v > 0.0).fold((f64::INFINITY, 0.0f64), |(low, high), v| (low.min(v), high.max(v)));
    if low <= high { (low / apart, high * apart) } else { (0.1, 10.0) }
}

type Chart<'a, 'b, X, Y> = ChartContext<'a, SVGBackend<'b>, Cartesian2d<X, Y>>;

/// A number with no more than two decimals.
fn short(v: f64) -> String {
    format!("{}", (v * 100.0).round() / 100.0)
}

/// Grid, labels and names of the axes; `x` is the name and the way of writing a place of the axis across.
fn mesh<X, Y>(chart: &mut Chart<X, Y>, x: (&str, &dyn Fn(f64) -> String), y: &str) -> Drawn
where
    X: Ranged<ValueType = f64> + ValueFormatter<f64>,
    Y: Ranged<ValueType = f64> + ValueFormatter<f64>,
{
    chart
        .configure_mesh()
        .light_line_style(WHITE)
        .bold_line_style(RGBColor(0xd8, 0xd8, 0xd8))
        .x_desc(x.0)
        .x_labels(12)
        .y_desc(y)
        .x_label_formatter(&|v| x.1(*v))
        .y_label_formatter(&|v| short(*v))
        .label_style((FONT, 14))
        .axis_desc_style((FONT, 15))
        .draw()
}

/// The sign of a class at a place: a dot, a cross, a triangle, a ring in turn.
fn sign<DB: DrawingBackend, C: Clone + 'static>(k: usize, at: C) -> DynElement<'static, DB, C> {
    let colour = COLOURS[k % COLOURS.len()];
    match k % 4 {
        0 => Circle::new(at, 4, colour.filled()).into_dyn(),
        1 => Cross::new(at, 4, colour.stroke_width(2)).into_dyn(),
        2 => TriangleMarker::new(at, 5, colour.filled()).into_dyn(),
        _ => Circle::new(at, 4, colour.stroke_width(2)).into_dyn(),
    }
}

/// The line of a class, whole or broken in a way of its own.
fn line<I: Iterator + Clone>(k: usize, course: I) -> DashedPathElement<I, u32> {
    let (dash, gap) = DASHES[k % DASHES.len()];
    DashedPathElement::new(course, dash, gap, COLOURS[k % COLOURS.len()].stroke_width(2))
}
