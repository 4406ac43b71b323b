//! The figures of a study as curves and scatter, SVG. Colours are those of Okabe and Ito (2008, Color Universal
//! Design); every class has a sign of its own as well.

use super::record::{DetectionRecord, ScatterRecord, StudyRecord};
use plotters::coord::Shift;
use plotters::coord::ranged1d::{Ranged, ValueFormatter};
use plotters::prelude::*;
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
        made.push(("detection.svg", drawn("detection.svg", |area| curves(area, &truth.detection))?));
    }
    if let Some(repeats) = record.repeats.as_ref().filter(|r| !r.scatter.is_empty()) {
        made.push(("repeats.svg", drawn("repeats.svg", |area| scatter(area, &repeats.scatter))?));
    }
    Ok(made)
}

fn drawn(name: &'static str, draw: impl Fn(&Area) -> Drawn) -> Result<String, PlotError> {
    let mut svg = String::new();
    {
        let area = SVGBackend::with_string(&mut svg, SIZE).into_drawing_area();
        let all = area.fill(&WHITE).and_then(|()| draw(&area)).and_then(|()| area.present());
        all.map_err(|e| PlotError { name, why: e.to_string() })?;
    }
    Ok(svg)
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
    mesh(&mut chart, ("size, um", &|v| short(v.exp2())), "share seen")?;
    for (k, class) in classes.iter().enumerate() {
        let colour = COLOURS[k % COLOURS.len()];
        if let Some([intercept, slope]) = class.curve {
            let at = |x: f64| 1.0 / (1.0 + (-intercept - slope * x.ln()).exp());
            let steps = (0..=160).map(|i| low * (high / low).powf(f64::from(i) / 160.0));
            chart.draw_series(LineSeries::new(steps.map(|x| (x.log2(), at(x))), colour.stroke_width(2)))?;
        }
        let places: Vec<(f64, f64)> =
            class.by_size.iter().filter_map(|b| Some((b.size_um.log2(), b.seen.share?))).collect();
        let [from, to] = class.contrast.map(|c| (100.0 * c).round());
        let contrast = if from == to { format!("{from}") } else { format!("{from} to {to}") };
        let name = format!("{} {contrast} %: a90 {}", class.kind, words(class.a90_um));
        signs(&mut chart, k, &places, &name)?;
    }
    legend(&mut chart, SeriesLabelPosition::LowerRight)
}

/// Scatter of each mark's size over its pictures.
fn scatter(area: &Area, marks: &[ScatterRecord]) -> Drawn {
    let (low, high) = ends(marks.iter().map(|m| m.mean_um), 1.2);
    let top = marks.iter().map(|m| m.sd_um).fold(0.05, f64::max) * 1.1;
    let mut chart = ChartBuilder::on(area)
        .margin(14)
        .caption("Scatter of sizes over repeated pictures", (FONT, 18))
        .x_label_area_size(42)
        .y_label_area_size(52)
        .build_cartesian_2d(low.log2()..high.log2(), 0.0..top)?;
    mesh(&mut chart, ("mean size, um", &|v| short(v.exp2())), "standard deviation, um")?;
    let mut sorts: Vec<&str> = marks.iter().map(|m| m.of.as_str()).collect();
    sorts.sort_unstable();
    sorts.dedup();
    for (k, sort) in sorts.into_iter().enumerate() {
        let places: Vec<(f64, f64)> =
            marks.iter().filter(|m| m.of == sort).map(|m| (m.mean_um.log2(), m.sd_um)).collect();
        signs(&mut chart, k, &places, sort)?;
    }
    legend(&mut chart, SeriesLabelPosition::UpperLeft)
}

fn words(size: Option<f64>) -> String {
    size.map_or_else(|| "not determined".to_owned(), |s| format!("{s:.2} um"))
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

/// Signs of one class at its places: a dot, a cross, a triangle, a ring in turn, and its entry in the legend.
fn signs<'a, 'b: 'a, X, Y>(
    chart: &mut Chart<'a, 'b, X, Y>,
    k: usize,
    places: &[(f64, f64)],
    name: &str,
) -> Drawn
where
    X: Ranged<ValueType = f64>,
    Y: Ranged<ValueType = f64>,
{
    let colour = COLOURS[k % COLOURS.len()];
    let here = places.iter().copied();
    let series = match k % 4 {
        0 => chart.draw_series(here.map(|at| Circle::new(at, 4, colour.filled())))?,
        1 => chart.draw_series(here.map(|at| Cross::new(at, 4, colour.stroke_width(2))))?,
        2 => chart.draw_series(here.map(|at| TriangleMarker::new(at, 5, colour.filled())))?,
        _ => chart.draw_series(here.map(|at| Circle::new(at, 4, colour.stroke_width(2))))?,
    };
    series.label(name);
    match k % 4 {
        0 => series.legend(move |at| Circle::new((at.0 + 9, at.1), 4, colour.filled()).into_dyn()),
        1 => series.legend(move |at| Cross::new((at.0 + 9, at.1), 4, colour.stroke_width(2)).into_dyn()),
        2 => series.legend(move |at| TriangleMarker::new((at.0 + 9, at.1), 5, colour.filled()).into_dyn()),
        _ => series.legend(move |at| Circle::new((at.0 + 9, at.1), 4, colour.stroke_width(2)).into_dyn()),
    };
    Ok(())
}

fn legend<'a, 'b: 'a, X, Y>(chart: &mut Chart<'a, 'b, X, Y>, place: SeriesLabelPosition) -> Drawn
where
    X: Ranged<ValueType = f64>,
    Y: Ranged<ValueType = f64>,
{
    chart
        .configure_series_labels()
        .position(place)
        .background_style(WHITE.mix(0.85))
        .border_style(RGBColor(0xc8, 0xc8, 0xc8))
        .label_font((FONT, 14))
        .draw()
}
