//! The table as Apache Parquet.

use super::table::{COLUMNS, Cell, Kind};
use parquet::basic::{Compression, LogicalType, Repetition, Type as Physical};
use parquet::column::writer::ColumnWriter;
use parquet::data_type::ByteArray;
use parquet::errors::{ParquetError, Result};
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::types::Type;
use std::sync::Arc;

/// Rows in a group: large enough to compress, small enough to be read one group at a time.
const ROWS_A_GROUP: usize = 50_000;

/// The table as the bytes of a Parquet file: the columns of [`COLUMNS`], missing values as nulls.
///
/// # Errors
/// What the writer reports; a table in memory causes none.
pub fn parquet(rows: &[Vec<Cell>]) -> Result<Vec<u8>> {
    let properties = WriterProperties::builder()
        .set_compression(Compression::SNAPPY)
        .set_created_by(format!("inktell {}", env!("CARGO_PKG_VERSION")))
        .build();
    let mut writer = SerializedFileWriter::new(Vec::new(), schema()?, Arc::new(properties))?;
    for group in rows.chunks(ROWS_A_GROUP) {
        let mut rows = writer.next_row_group()?;
        let mut index = 0;
        while let Some(mut column) = rows.next_column()? {
            let cells: Vec<&Cell> = group.iter().filter_map(|row| row.get(index)).collect();
            write(column.untyped(), &cells)?;
            column.close()?;
            index += 1;
        }
        rows.close()?;
    }
    writer.into_inner()
}

fn schema() -> Result<Arc<Type>> {
    let fields = COLUMNS
        .iter()
        .map(|(name, kind, _)| {
            let (physical, repetition) = match kind {
                Kind::Text => (Physical::BYTE_ARRAY, Repetition::OPTIONAL),
                Kind::Number => (Physical::DOUBLE, Repetition::OPTIONAL),
                Kind::Whole => (Physical::INT64, Repetition::REQUIRED),
                Kind::Flag => (Physical::BOOLEAN, Repetition::REQUIRED),
            };
            let logical = (*kind == Kind::Text).then_some(LogicalType::String);
            Type::primitive_type_builder(name, physical)
                .with_repetition(repetition)
                .with_logical_type(logical)
                .build()
                .map(Arc::new)
        })
        .collect::<Result<Vec<_>>>()?;
    Ok(Arc::new(
        Type::group_type_builder("sheets")
            .with_fields(fields)
            .build()?,
    ))
}

fn write(writer: &mut ColumnWriter<'_>, cells: &[&Cell]) -> Result<()> {
    match writer {
        ColumnWriter::ByteArrayColumnWriter(w) => {
            let (values, levels) = present(cells, |cell| match cell {
                Cell::Text(text) => text.as_deref().map(ByteArray::from),
                _ => None,
            });
            w.write_batch(&values, Some(&levels), None)?;
        }
        ColumnWriter::DoubleColumnWriter(w) => {
            let (values, levels) = present(cells, |cell| match cell {
                Cell::Number(number) => *number,
                _ => None,
            });
            w.write_batch(&values, Some(&levels), None)?;
        }
        ColumnWriter::Int64ColumnWriter(w) => {
            let (values, _) = present(cells, |cell| match cell {
                Cell::Whole(whole) => Some(*whole),
                _ => None,
            });
            w.write_batch(&values, None, None)?;
        }
        ColumnWriter::BoolColumnWriter(w) => {
            let (values, _) = present(cells, |cell| match cell {
                Cell::Flag(flag) => Some(*flag),
                _ => None,
            });
            w.write_batch(&values, None, None)?;
        }
        _ => return Err(ParquetError::General("a column of no known kind".into())),
    }
    Ok(())
}

/// The values that are there, and for each cell whether it is (1) or not (0).
fn present<T>(cells: &[&Cell], value: impl Fn(&Cell) -> Option<T>) -> (Vec<T>, Vec<i16>) {
    let taken: Vec<Option<T>> = cells.iter().map(|cell| value(cell)).collect();
    let levels = taken.iter().map(|v| i16::from(v.is_some())).collect();
    (taken.into_iter().flatten().collect(), levels)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::table::tests::rows;
    use parquet::file::reader::{FileReader, SerializedFileReader};
    use parquet::record::Field;
    use std::fs::File;
    use std::io::Write;

    fn reader(bytes: &[u8]) -> SerializedFileReader<File> {
        let mut file = tempfile::tempfile().unwrap();
        file.write_all(bytes).unwrap();
        SerializedFileReader::new(file).unwrap()
    }

    #[test]
    fn a_table_is_read_back_as_it_was() {
        let rows = rows();
        let bytes = parquet(&rows).unwrap();
        assert_eq!(bytes, parquet(&rows).unwrap());
        let reader = self::reader(&bytes);
        let read: Vec<_> = reader
            .get_row_iter(None)
            .unwrap()
            .collect::<Result<Vec<_>>>()
            .unwrap();
        assert_eq!(read.len(), rows.len());
        for (back, row) in read.iter().zip(&rows) {
            for (((name, field), cell), column) in back.get_column_iter().zip(row).zip(COLUMNS) {
                assert_eq!(name, column.0);
                let same = match (field, cell) {
                    (Field::Null, Cell::Text(None) | Cell::Number(None)) => true,
                    (Field::Str(a), Cell::Text(Some(b))) => a == b,
                    (Field::Double(a), Cell::Number(Some(b))) => a == b,
                    (Field::Long(a), Cell::Whole(b)) => a == b,
                    (Field::Bool(a), Cell::Flag(b)) => a == b,
                    _ => false,
                };
                assert!(same, "{name}: {field:?} for {cell:?}");
            }
        }
    }

    #[test]
    fn an_empty_table_is_a_file_with_columns() {
        let bytes = parquet(&[]).unwrap();
        let reader = self::reader(&bytes);
        assert_eq!(reader.metadata().file_metadata().num_rows(), 0);
        let schema = reader.metadata().file_metadata().schema();
        assert_eq!(schema.get_fields().len(), COLUMNS.len());
    }
}
