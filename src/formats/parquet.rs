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

use super::columns::{Cells, Column};
use crate::error::Faults;
use parquet::basic::{Compression, Encoding, LogicalType, Repetition, Type as Physical, ZstdLevel};
use parquet::data_type::{
    BoolType, ByteArray, ByteArrayType, DataType, DoubleType, Int32Type, Int64Type,
};
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

/// Writes the rows that `next` gives until it gives none; `format` stands in the file's metadata.
///
/// # Errors
/// Bytes that cannot be written; what `next` returns comes wrapped by [`io::Error::other`].
pub fn write<R>(
    out: impl Write + Send,
    format: &str,
    columns: &[Column<R>],
    next: &mut dyn FnMut() -> Result<Option<R>, Faults>,
) -> io::Result<()> {
    let mut file = SerializedFileWriter::new(out, schema(columns)?, properties(format, columns)?)
        .map_err(io_error)?;
    let mut rows: Vec<R> = Vec::new();
    let mut samples = 0;
    loop {
        let row = next().map_err(io::Error::other)?;
        let done = row.is_none();
        if let Some(row) = row {
            for column in columns {
                if let Cells::Counts(of) = column.cells {
                    samples += of(&row).iter().map(Vec::len).sum::<usize>();
                }
            }
            rows.push(row);
        }
        if !rows.is_empty() && (done || samples >= GROUP_SAMPLES) {
            let mut group = file.next_row_group().map_err(io_error)?;
            for column in columns {
                let mut writer = group
                    .next_column()
                    .map_err(io_error)?
                    .expect("a column of the schema, which has as many");
                write_column(&mut writer, &column.cells, &rows).map_err(io_error)?;
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

fn properties<R>(format: &str, columns: &[Column<R>]) -> io::Result<Arc<WriterProperties>> {
    let level = ZstdLevel::try_new(ZSTD_LEVEL).map_err(io_error)?;
    let said = KeyValue::new(FORMAT_KEY.to_string(), format.to_string());
    let mut properties = WriterProperties::builder()
        .set_created_by(concat!("waterjacket ", env!("CARGO_PKG_VERSION")).into())
        .set_compression(Compression::ZSTD(level))
        .set_key_value_metadata(Some(vec![said]));
    for column in columns {
        if !matches!(column.cells, Cells::Counts(_)) {
            continue;
        }
        let words = [column.name, "list", "element", "list", "element"];
        let path = ColumnPath::new(words.map(String::from).to_vec());
        properties = properties
            .set_column_dictionary_enabled(path.clone(), false)
            .set_column_statistics_enabled(path.clone(), EnabledStatistics::None)
            .set_column_encoding(path, Encoding::DELTA_BINARY_PACKED);
    }
    Ok(Arc::new(properties.build()))
}

fn schema<R>(columns: &[Column<R>]) -> io::Result<TypePtr> {
    let fields = columns.iter().map(field).collect::<Result<_, _>>();
    let fields = fields.map_err(io_error)?;
    let schema = Type::group_type_builder("captures").with_fields(fields);
    Ok(Arc::new(schema.build().map_err(io_error)?))
}

fn field<R>(column: &Column<R>) -> Result<TypePtr, ParquetError> {
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
    match column.cells {
        Cells::Text(_) => one(Physical::BYTE_ARRAY, text()),
        Cells::Whole(_) => one(Physical::INT64, whole(64, false)),
        Cells::Real(_) => one(Physical::DOUBLE, None),
        Cells::Flag(_) => one(Physical::BOOLEAN, None),
        Cells::MaybeReal(_) => leaf(name, Physical::DOUBLE, None, Repetition::OPTIONAL),
        Cells::Texts(_) => list(name, element(Physical::BYTE_ARRAY, text())?),
        Cells::Wholes(_) => list(name, element(Physical::INT32, whole(32, true))?),
        Cells::Reals(_) => list(name, element(Physical::DOUBLE, None)?),
        Cells::Counts(_) => {
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
fn write_column<R>(
    writer: &mut SerializedColumnWriter,
    cells: &Cells<R>,
    rows: &[R],
) -> Result<(), ParquetError> {
    let text = |text: String| ByteArray::from(text.into_bytes());
    let rows = rows.iter();
    match cells {
        Cells::Text(of) => flat::<ByteArrayType>(writer, rows.map(|row| text(of(row)))),
        // The column is unsigned; the bits are the same.
        Cells::Whole(of) => flat::<Int64Type>(writer, rows.map(|row| of(row) as i64)),
        Cells::Real(of) => flat::<DoubleType>(writer, rows.map(of)),
        Cells::Flag(of) => flat::<BoolType>(writer, rows.map(of)),
        Cells::MaybeReal(of) => {
            let cells: Vec<Option<f64>> = rows.map(of).collect();
            let there: Vec<i16> = cells.iter().map(|cell| cell.is_some().into()).collect();
            let reals: Vec<f64> = cells.into_iter().flatten().collect();
            writer
                .typed::<DoubleType>()
                .write_batch(&reals, Some(&there), None)
        }
        Cells::Texts(of) => {
            let lists = rows.map(|row| of(row).into_iter().map(text).collect());
            lists_of::<ByteArrayType>(writer, lists)
        }
        Cells::Wholes(of) => {
            let lists = rows.map(|row| of(row).into_iter().map(|n| n as i32).collect());
            lists_of::<Int32Type>(writer, lists)
        }
        Cells::Reals(of) => lists_of::<DoubleType>(writer, rows.map(of)),
        Cells::Counts(of) => {
            let (mut counts, mut levels) = (Vec::new(), Levels::default());
            for row in rows {
                let channels = of(row);
                if channels.is_empty() {
                    levels.push(0, 0);
                }
                for (c, channel) in channels.iter().enumerate() {
                    let begins = i16::from(c > 0);
                    if channel.is_empty() {
                        levels.push(1, begins);
                    }
                    for i in 0..channel.len() {
                        levels.push(2, if i == 0 { begins } else { 2 });
                    }
                    counts.extend(channel.iter().map(|n| i32::from(*n)));
                }
            }
            levels.write::<Int32Type>(writer, &counts)
        }
    }
    .map(drop)
}

/// Writes the values of a column, one a row.
fn flat<T: DataType>(
    writer: &mut SerializedColumnWriter,
    values: impl Iterator<Item = T::T>,
) -> Result<usize, ParquetError> {
    let values: Vec<T::T> = values.collect();
    writer.typed::<T>().write_batch(&values, None, None)
}

/// Writes the lists of a column, one a row.
fn lists_of<T: DataType>(
    writer: &mut SerializedColumnWriter,
    lists: impl Iterator<Item = Vec<T::T>>,
) -> Result<usize, ParquetError> {
    let (mut values, mut levels) = (Vec::new(), Levels::default());
    for list in lists {
        if list.is_empty() {
            levels.push(0, 0);
        }
        for i in 0..list.len() {
            levels.push(1, i16::from(i > 0));
        }
        values.extend(list);
    }
    levels.write::<T>(writer, &values)
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

    fn write<T: DataType>(
        &self,
        writer: &mut SerializedColumnWriter,
        values: &[T::T],
    ) -> Result<usize, ParquetError> {
        let (definition, repetition) = (&self.definition[..], &self.repetition[..]);
        let writer = writer.typed::<T>();
        writer.write_batch(values, Some(definition), Some(repetition))
    }
}
