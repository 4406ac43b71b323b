//! The job as Parquet (Apache Parquet format 2), for analysis across sites: a row for every position of every inspection,
//! and a row for every mark. Columns bear the names of `face.json`, units included. Not compressed: rows of one face are
//! alike, and their dictionaries keep the file small.

use crate::job::{Cable, Connector, Inspection, Job};
use crate::tables::FORMAT;
use parquet::basic::{LogicalType, Repetition, Type as Physical};
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DoubleType, Int32Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::Type;
use report::record::{FeatureRecord, PositionRecord};
use std::sync::Arc;

/// Why rows cannot be written; none is known.
#[derive(Debug, thiserror::Error)]
#[error("the columns of the hand-over cannot be written: {0}")]
pub struct ColumnError(#[from] ParquetError);

/// The values of a column, one a row.
enum Values {
    Text(Vec<Option<String>>),
    Number(Vec<Option<f64>>),
    Whole(Vec<i32>),
    Flag(Vec<bool>),
}

type Column = (&'static str, Values);

/// Every position of every inspection.
///
/// # Errors
/// [`ColumnError`] with the words of the `parquet` package.
pub fn positions(job: &Job) -> Result<Vec<u8>, ColumnError> {
    let rows: Vec<(Row, &PositionRecord)> =
        looks(job).flat_map(|row| row.look.face.positions.iter().map(move |p| (row, p))).collect();
    let mut columns = of_looks(rows.iter().map(|(row, _)| row));
    let number =
        |get: fn(&PositionRecord) -> Option<f64>| Values::Number(rows.iter().map(|r| get(r.1)).collect());
    let whole = |get: fn(&PositionRecord) -> i32| Values::Whole(rows.iter().map(|r| get(r.1)).collect());
    let text =
        |get: fn(&PositionRecord) -> String| Values::Text(rows.iter().map(|r| Some(get(r.1))).collect());
    columns.extend([
        ("position", whole(|p| p.position.into())),
        ("row", whole(|p| p.row.into())),
        ("column", whole(|p| p.column.into())),
        ("verdict", text(|p| p.verdict.word().to_owned())),
        ("reasons", text(|p| p.reasons.iter().map(|r| r.code.as_str()).collect::<Vec<_>>().join(" "))),
        ("cladding_diameter_um", number(|p| p.cladding_diameter_um)),
        ("offset_x_um", number(|p| p.offset_um.map(|o| o[0]))),
        ("offset_y_um", number(|p| p.offset_um.map(|o| o[1]))),
        ("centre_u_um", number(|p| p.centre_u_um)),
        ("blur_um", number(|p| p.blur_um)),
        ("smallest_visible_um", number(|p| p.smallest_visible_um)),
        ("core_light", number(|p| p.core_light)),
        ("conformity", number(|p| p.conformity)),
        ("features", whole(|p| i32::try_from(p.features.len()).unwrap_or(i32::MAX))),
        ("largest_size_um", number(|p| p.features.iter().filter_map(|f| f.size_um).max_by(f64::total_cmp))),
    ]);
    written("position", columns)
}

/// Every mark on or beside a fibre in every inspection.
///
/// # Errors
/// [`ColumnError`] with the words of the `parquet` package.
pub fn features(job: &Job) -> Result<Vec<u8>, ColumnError> {
    type Seen<'j> = (Row<'j>, &'j PositionRecord, &'j FeatureRecord);
    let rows: Vec<Seen> = looks(job)
        .flat_map(|row| row.look.face.positions.iter().map(move |p| (row, p)))
        .flat_map(|(row, p)| p.features.iter().map(move |f| (row, p, f)))
        .collect();
    let mut columns = of_looks(rows.iter().map(|(row, ..)| row));
    let number =
        |get: fn(&FeatureRecord) -> Option<f64>| Values::Number(rows.iter().map(|r| get(r.2)).collect());
    let text =
        |get: fn(&FeatureRecord) -> Option<String>| Values::Text(rows.iter().map(|r| get(r.2)).collect());
    let flag = |get: fn(&Seen) -> bool| Values::Flag(rows.iter().map(get).collect());
    columns.extend([
        ("position", Values::Whole(rows.iter().map(|r| r.1.position.into()).collect())),
        ("id", Values::Whole(rows.iter().map(|r| i32::try_from(r.2.id).unwrap_or(i32::MAX)).collect())),
        ("kind", text(|f| Some(f.kind.word().to_owned()))),
        ("zone", text(|f| f.zone.clone())),
        ("size_um", number(|f| f.size_um)),
        ("u_um", number(|f| f.u_um)),
        ("length_um", number(|f| f.length_um)),
        ("centre_x_um", number(|f| f.centre_um.map(|c| c[0]))),
        ("centre_y_um", number(|f| f.centre_um.map(|c| c[1]))),
        ("contrast", number(|f| f.contrast)),
        ("near_limit", flag(|(.., f)| f.near_limit)),
        ("breaks_limit", flag(|(_, p, f)| p.breaks(f.id))),
    ]);
    written("feature", columns)
}

/// One inspection, and whose it is.
#[derive(Clone, Copy)]
struct Row<'j> {
    cable: &'j Cable,
    connector: &'j Connector,
    number: usize,
    look: &'j Inspection,
}

fn looks(job: &Job) -> impl Iterator<Item = Row<'_>> {
    job.connectors().flat_map(|(cable, connector)| {
        let all = connector.inspections.iter().enumerate();
        all.map(move |(k, look)| Row { cable, connector, number: k + 1, look })
    })
}

/// The columns that both tables begin with.
fn of_looks<'r, 'j: 'r>(rows: impl Iterator<Item = &'r Row<'j>> + Clone) -> Vec<Column> {
    let text = |get: fn(&Row) -> String| Values::Text(rows.clone().map(|r| Some(get(r))).collect());
    vec![
        ("cable", text(|r| r.cable.identifier.clone())),
        ("connector", text(|r| r.connector.identifier.clone())),
        (
            "inspection",
            Values::Whole(rows.clone().map(|r| i32::try_from(r.number).unwrap_or(i32::MAX)).collect()),
        ),
        ("when", text(|r| r.look.when.clone())),
        ("counts", Values::Flag(rows.clone().map(|r| r.number == r.connector.inspections.len()).collect())),
        ("layout", text(|r| r.look.face.layout.clone())),
        ("criteria", text(|r| r.look.face.criteria.id.clone())),
        ("tool_version", text(|r| r.look.face.tool.version.clone())),
        ("record_sha256", text(|r| r.look.sha256.clone())),
    ]
}

fn written(row: &str, columns: Vec<Column>) -> Result<Vec<u8>, ColumnError> {
    let fields = columns.iter().map(|(name, values)| Ok(Arc::new(values.described(name)?)));
    let fields = fields.collect::<Result<Vec<_>, ParquetError>>()?;
    let schema = Arc::new(Type::group_type_builder(row).with_fields(fields).build()?);
    let note = |key: &str, value: &str| KeyValue::new(key.to_owned(), value.to_owned());
    let properties = WriterProperties::builder()
        .set_key_value_metadata(Some(vec![note("schema", FORMAT), note("row", row)]))
        .build();
    let mut writer = SerializedFileWriter::new(Vec::new(), schema, Arc::new(properties))?;
    let mut group = writer.next_row_group()?;
    for (_, values) in &columns {
        let Some(mut column) = group.next_column()? else { break };
        match values {
            Values::Text(all) => {
                let told: Vec<ByteArray> = all.iter().flatten().map(|t| t.as_str().into()).collect();
                column.typed::<ByteArrayType>().write_batch(&told, Some(&told_where(all)), None)?;
            }
            Values::Number(all) => {
                let told: Vec<f64> = all.iter().flatten().copied().collect();
                column.typed::<DoubleType>().write_batch(&told, Some(&told_where(all)), None)?;
            }
            Values::Whole(all) => {
                column.typed::<Int32Type>().write_batch(all, None, None)?;
            }
            Values::Flag(all) => {
                column.typed::<BoolType>().write_batch(all, None, None)?;
            }
        }
        column.close()?;
    }
    group.close()?;
    Ok(writer.into_inner()?)
}

/// 1 where there is a value, 0 where there is none.
fn told_where<T>(all: &[Option<T>]) -> Vec<i16> {
    all.iter().map(|value| i16::from(value.is_some())).collect()
}

impl Values {
    fn described(&self, name: &str) -> Result<Type, ParquetError> {
        let (physical, logical, repetition) = match self {
            Values::Text(_) => (Physical::BYTE_ARRAY, Some(LogicalType::String), Repetition::OPTIONAL),
            Values::Number(_) => (Physical::DOUBLE, None, Repetition::OPTIONAL),
            Values::Whole(_) => (Physical::INT32, None, Repetition::REQUIRED),
            Values::Flag(_) => (Physical::BOOLEAN, None, Repetition::REQUIRED),
        };
        let builder = Type::primitive_type_builder(name, physical).with_repetition(repetition);
        builder.with_logical_type(logical).build()
    }
}
