//! Many captures in one Parquet file: a row a capture, zstd, readable without this program.
//!
//! The columns of [`super::columns`] are written through the `parquet` crate's column writers. Every list
//! is the standard three-level list whose elements are required, so that pandas, Polars and DuckDB read
//! `samples` as a list of channels, each a list of 16-bit integers. Samples are stored as differences
//! (`DELTA_BINARY_PACKED`) before compression, for neighbouring samples are alike.
//!
//! A row group is closed once it holds 8 Mi samples, which bounds the memory of writer and
//! reader, and the bytes of a file depend on its rows alone.
//!
//! Source: the Parquet format's specification (LogicalTypes.md: LIST; Encodings.md), cited from memory.

use super::columns::{Cell, Column, Kind};
use crate::error::Faults;
use parquet::basic::{Compression, Encoding, LogicalType, Repetition, Type as Physical, ZstdLevel};
use parquet::column::writer::ColumnWriter;
use parquet::data_type::ByteArray;
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::types::{ColumnPath, Type, TypePtr};
use std::io::{self, Write};
use std::sync::Arc;

/// A row group is closed once it holds so many samples: 16 MiB of counts.
const GROUP_SAMPLES: usize = 8 << 20;
/// Beyond this level, zstd takes much longer to save little.
const ZSTD_LEVEL: i32 = 3;
/// Key of the file's metadata that says which columns these are.
const FORMAT_KEY: &str = "waterjacket";

/// One row: a cell for each column.
pub type Row = Vec<Cell>;

/// Writes the rows that `next` gives until it gives none; `format` stands in the file's metadata.
///
/// # Errors
/// Bytes that cannot be written; what `next` returns comes wrapped by [`io::Error::other`].
///
/// # Panics
/// If a row has not the cells of its columns.
pub fn write(
    out: impl Write + Send,
    format: &str,
    columns: &[Column],
    next: &mut dyn FnMut() -> Result<Option<Row>, Faults>,
) -> io::Result<()> {
    let mut file = SerializedFileWriter::new(out, schema(columns)?, properties(format, columns)?)
        .map_err(io_error)?;
    let mut rows: Vec<Row> = Vec::new();
    let mut samples = 0;
    loop {
        let row = next().map_err(io::Error::other)?;
        let done = row.is_none();
        if let Some(row) = row {
            samples += row.iter().map(Cell::samples).sum::<usize>();
            rows.push(row);
        }
        if !rows.is_empty() && (done || samples >= GROUP_SAMPLES) {
            let mut group = file.next_row_group().map_err(io_error)?;
            for (i, column) in columns.iter().enumerate() {
                let cells = rows.iter().map(|row| &row[i]);
                let mut writer = group
                    .next_column()
                    .map_err(io_error)?
                    .expect("a column of the schema, which has as many");
                write_column(&mut writer, column, cells).map_err(io_error)?;
                writer.close().map_err(io_error)?;
            }
            group.close().map_err(io_error)?;
            rows.clear();
            samples = 0;
        }
        if done {
            file.finish().map_err(io_error)?;
            return Ok(());
        }
    }
}

/// Whether a file of `bytes` bytes that ends in `last` can be a whole Parquet file: the length of its metadata, then the
/// magic number.
pub fn is_end(last: [u8; 8], bytes: u64) -> bool {
    let [a, b, c, d, magic @ ..] = last;
    magic == *b"PAR1" && u64::from(u32::from_le_bytes([a, b, c, d])) + 12 <= bytes
}

/// The system's own error, if that is what the library met, so that a full disk is told as such.
fn io_error(error: ParquetError) -> io::Error {
    match error {
        ParquetError::External(inner) => match inner.downcast::<io::Error>() {
            Ok(error) => *error,
            Err(other) => io::Error::other(other.to_string()),
        },
        other => io::Error::other(other.to_string()),
    }
}

fn properties(format: &str, columns: &[Column]) -> io::Result<Arc<WriterProperties>> {
    let level = ZstdLevel::try_new(ZSTD_LEVEL).map_err(io_error)?;
    let said = KeyValue::new(FORMAT_KEY.to_string(), format.to_string());
    let mut properties = WriterProperties::builder()
        .set_created_by(concat!("waterjacket ", env!("CARGO_PKG_VERSION")).into())
        .set_compression(Compression::ZSTD(level))
        .set_key_value_metadata(Some(vec![said]));
    for column in columns.iter().filter(|c| c.kind == Kind::Counts) {
        let words = [column.name, "list", "element", "list", "element"];
        let path = ColumnPath::new(words.map(String::from).to_vec());
        properties = properties
            .set_column_dictionary_enabled(path.clone(), false)
            .set_column_statistics_enabled(path.clone(), EnabledStatistics::None)
            .set_column_encoding(path, Encoding::DELTA_BINARY_PACKED);
    }
    Ok(Arc::new(properties.build()))
}

fn schema(columns: &[Column]) -> io::Result<TypePtr> {
    let fields = columns.iter().map(field).collect::<Result<_, _>>();
    let fields = fields.map_err(io_error)?;
    let schema = Type::group_type_builder("captures").with_fields(fields);
    Ok(Arc::new(schema.build().map_err(io_error)?))
}

fn field(column: &Column) -> Result<TypePtr, ParquetError> {
    let name = column.name;
    let whole = |bits, signed| Some(LogicalType::integer(bits, signed));
    let text = || Some(LogicalType::String);
    let leaf = |name, physical, logical, repetition| {
        let leaf = Type::primitive_type_builder(name, physical)
            .with_logical_type(logical)
            .with_repetition(repetition);
        leaf.build().map(Arc::new)
    };
    let one = |physical, logical| leaf(name, physical, logical, Repetition::REQUIRED);
    let element = |physical, logical| leaf("element", physical, logical, Repetition::REQUIRED);
    match column.kind {
        Kind::Text => one(Physical::BYTE_ARRAY, text()),
        Kind::Whole => one(Physical::INT64, whole(64, false)),
        Kind::Real => one(Physical::DOUBLE, None),
        Kind::Flag => one(Physical::BOOLEAN, None),
        Kind::MaybeReal => leaf(name, Physical::DOUBLE, None, Repetition::OPTIONAL),
        Kind::Texts => list(name, element(Physical::BYTE_ARRAY, text())?),
        Kind::Wholes => list(name, element(Physical::INT32, whole(32, true))?),
        Kind::Reals => list(name, element(Physical::DOUBLE, None)?),
        Kind::Counts => {
            let channel = list("element", element(Physical::INT32, whole(16, true))?)?;
            list(name, channel)
        }
    }
}

/// The standard list: a group of a repeated group of an element.
fn list(name: &str, element: TypePtr) -> Result<TypePtr, ParquetError> {
    let items = Type::group_type_builder("list")
        .with_repetition(Repetition::REPEATED)
        .with_fields(vec![element])
        .build()?;
    let list = Type::group_type_builder(name)
        .with_repetition(Repetition::REQUIRED)
        .with_logical_type(Some(LogicalType::List))
        .with_fields(vec![Arc::new(items)]);
    list.build().map(Arc::new)
}

/// Writes one column of a row group.
fn write_column<'a>(
    writer: &mut SerializedColumnWriter,
    column: &Column,
    cells: impl Iterator<Item = &'a Cell>,
) -> Result<(), ParquetError> {
    let mut values = Values::default();
    for cell in cells {
        assert!(
            cell.kind() == column.kind,
            "column {} takes no {cell:?}",
            column.name
        );
        values.add(cell);
    }
    let levels = &values.levels;
    let (definition, repetition) = match column.kind {
        Kind::Text | Kind::Whole | Kind::Real | Kind::Flag => (None, None),
        Kind::MaybeReal => (Some(&levels.definition[..]), None),
        _ => (Some(&levels.definition[..]), Some(&levels.repetition[..])),
    };
    match writer.untyped() {
        ColumnWriter::ByteArrayColumnWriter(w) => {
            w.write_batch(&values.texts, definition, repetition)?
        }
        ColumnWriter::Int32ColumnWriter(w) => {
            w.write_batch(&values.small, definition, repetition)?
        }
        ColumnWriter::Int64ColumnWriter(w) => {
            w.write_batch(&values.large, definition, repetition)?
        }
        ColumnWriter::DoubleColumnWriter(w) => {
            w.write_batch(&values.reals, definition, repetition)?
        }
        ColumnWriter::BoolColumnWriter(w) => {
            w.write_batch(&values.flags, definition, repetition)?
        }
        _ => unreachable!("no column of ours has another type"),
    };
    Ok(())
}

/// Dremel's levels of nested values: how deep a value is defined, and at which depth it repeats.
#[derive(Default)]
struct Levels {
    definition: Vec<i16>,
    repetition: Vec<i16>,
}

impl Levels {
    fn push(&mut self, definition: i16, repetition: i16) {
        self.definition.push(definition);
        self.repetition.push(repetition);
    }

    /// A list of `length` values that begins a row.
    fn list(&mut self, length: usize) {
        if length == 0 {
            self.push(0, 0);
        }
        for i in 0..length {
            self.push(1, i16::from(i > 0));
        }
    }
}

/// The values of a column of a row group, in the vector of its type.
#[derive(Default)]
struct Values {
    texts: Vec<ByteArray>,
    small: Vec<i32>,
    large: Vec<i64>,
    reals: Vec<f64>,
    flags: Vec<bool>,
    levels: Levels,
}

impl Values {
    fn add(&mut self, cell: &Cell) {
        match cell {
            Cell::Text(text) => self.texts.push(text.as_str().into()),
            // The column is unsigned; the bits are the same.
            Cell::Whole(n) => self.large.push(*n as i64),
            Cell::Real(x) => self.reals.push(*x),
            Cell::Flag(is) => self.flags.push(*is),
            Cell::MaybeReal(x) => {
                self.levels.push(i16::from(x.is_some()), 0);
                self.reals.extend(x);
            }
            Cell::Texts(texts) => {
                self.levels.list(texts.len());
                self.texts.extend(texts.iter().map(|t| t.as_str().into()));
            }
            Cell::Wholes(numbers) => {
                self.levels.list(numbers.len());
                self.small.extend(numbers.iter().map(|n| *n as i32));
            }
            Cell::Reals(numbers) => {
                self.levels.list(numbers.len());
                self.reals.extend(numbers);
            }
            Cell::Counts(channels) => {
                if channels.is_empty() {
                    self.levels.push(0, 0);
                }
                for (c, channel) in channels.iter().enumerate() {
                    let begins = i16::from(c > 0);
                    if channel.is_empty() {
                        self.levels.push(1, begins);
                    }
                    for i in 0..channel.len() {
                        self.levels.push(2, if i == 0 { begins } else { 2 });
                    }
                    self.small.extend(channel.iter().map(|n| i32::from(*n)));
                }
            }
        }
    }
}
