//! A backup's file, item by item.

use std::fs::{File, OpenOptions};
use std::io::{self, BufReader, BufWriter, Read, Write};
use std::path::Path;

use minicbor::data::Type;
use minicbor::{Decoder, Encoder};
use sha2::{Digest, Sha256};

use super::FORMAT;
use crate::db::Value;

/// First bytes of a backup, before its zstd frame.
const MAGIC: &[u8; 4] = b"SSQB";
/// How hard zstd tries: rows are many, and much of them are signatures.
const LEVEL: i32 = 6;
/// Longest item that is believed in: a frame at its largest, with room around it.
const LONGEST: u32 = 2 * 1024 * 1024;

pub(super) struct Head {
    pub format: u32,
}

pub(super) enum Item {
    /// Rows of this table follow.
    Table(String),
    /// A row.
    Row(Vec<Value>),
    /// Nothing follows.
    End { rows: u64 },
}

/// Writes a backup. Nobody but the office's own user may read it.
pub(super) struct Writer {
    out: zstd::stream::Encoder<'static, BufWriter<File>>,
    hash: Sha256,
    rows: u64,
    item: Vec<u8>,
}

fn strange<T>(fault: minicbor::encode::Error<T>) -> io::Error {
    io::Error::other(if fault.is_write() {
        "memory"
    } else {
        "a value"
    })
}

impl Writer {
    pub fn create(file: &Path, now_ms: i64) -> io::Result<Writer> {
        let mut options = OpenOptions::new();
        options.write(true).create(true).truncate(true);
        #[cfg(unix)]
        std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
        let mut plain = BufWriter::new(options.open(file)?);
        plain.write_all(MAGIC)?;
        let mut writer = Writer {
            out: zstd::stream::Encoder::new(plain, LEVEL)?,
            hash: Sha256::new(),
            rows: 0,
            item: Vec::new(),
        };
        writer.put(|e| {
            e.array(2)?.u32(FORMAT)?.i64(now_ms)?;
            Ok(())
        })?;
        Ok(writer)
    }

    pub fn rows(&self) -> u64 {
        self.rows
    }

    fn put(
        &mut self,
        what: impl FnOnce(
            &mut Encoder<&mut Vec<u8>>,
        ) -> Result<(), minicbor::encode::Error<std::convert::Infallible>>,
    ) -> io::Result<()> {
        self.item.clear();
        what(&mut Encoder::new(&mut self.item)).map_err(strange)?;
        self.hash.update(&self.item);
        let length = u32::try_from(self.item.len()).map_err(io::Error::other)?;
        self.out.write_all(&length.to_be_bytes())?;
        self.out.write_all(&self.item)
    }

    pub fn table(&mut self, name: &str) -> io::Result<()> {
        self.put(|e| {
            e.str(name)?;
            Ok(())
        })
    }

    pub fn row(&mut self, values: &[Value]) -> io::Result<()> {
        self.rows += 1;
        self.put(|e| {
            e.array(values.len() as u64)?;
            for value in values {
                match value {
                    Value::Null => e.null()?,
                    Value::Int(n) => e.i64(*n)?,
                    Value::Text(text) => e.str(text)?,
                    Value::Bytes(bytes) => e.bytes(bytes)?,
                };
            }
            Ok(())
        })
    }

    /// Ends it and sees that it is on the disk; how many rows.
    pub fn finish(mut self) -> io::Result<u64> {
        let rows = self.rows;
        let hash = self.hash.clone().finalize();
        self.put(|e| {
            e.map(1)?.u64(rows)?.bytes(&hash)?;
            Ok(())
        })?;
        let file = self
            .out
            .finish()?
            .into_inner()
            .map_err(|e| e.into_error())?;
        file.sync_all()?;
        Ok(rows)
    }
}

/// Reads a backup. What is wrong with it is told in words.
pub(super) struct Reader {
    from: zstd::stream::Decoder<'static, BufReader<File>>,
    hash: Sha256,
}

impl Reader {
    pub fn open(file: &Path) -> io::Result<Reader> {
        let mut plain = File::open(file)?;
        let mut magic = [0; 4];
        plain.read_exact(&mut magic)?;
        if &magic != MAGIC {
            return Err(io::Error::other("not a backup of an office"));
        }
        Ok(Reader {
            from: zstd::stream::Decoder::new(plain)?,
            hash: Sha256::new(),
        })
    }

    fn bytes(&mut self) -> Result<Vec<u8>, String> {
        let cut = |e: io::Error| format!("it breaks off: {e}");
        let mut length = [0; 4];
        self.from.read_exact(&mut length).map_err(cut)?;
        let length = u32::from_be_bytes(length);
        if length > LONGEST {
            return Err("an item too long".into());
        }
        let mut bytes = vec![0; length as usize];
        self.from.read_exact(&mut bytes).map_err(cut)?;
        Ok(bytes)
    }

    pub fn head(&mut self) -> Result<Head, String> {
        let bytes = self.bytes()?;
        self.hash.update(&bytes);
        let mut head = Decoder::new(&bytes);
        let read = head.array().and_then(|_| head.u32());
        let format = read.map_err(|e| e.to_string())?;
        Ok(Head { format })
    }

    pub fn item(&mut self) -> Result<Item, String> {
        let bytes = self.bytes()?;
        let so_far = self.hash.clone().finalize();
        self.hash.update(&bytes);
        let mut item = Decoder::new(&bytes);
        let strange = |e: minicbor::decode::Error| e.to_string();
        match item.datatype().map_err(strange)? {
            Type::String => Ok(Item::Table(item.str().map_err(strange)?.to_owned())),
            Type::Array => {
                let count = item.array().map_err(strange)?.unwrap_or(0);
                let mut row = Vec::new();
                for _ in 0..count {
                    row.push(value(&mut item).map_err(strange)?);
                }
                Ok(Item::Row(row))
            }
            Type::Map => {
                item.map().map_err(strange)?;
                let rows = item.u64().map_err(strange)?;
                if item.bytes().map_err(strange)? != so_far.as_slice() {
                    return Err("its content is not what was written".into());
                }
                let mut more = [0];
                match self.from.read(&mut more) {
                    Ok(0) => Ok(Item::End { rows }),
                    _ => Err("something follows its end".into()),
                }
            }
            other => Err(format!("a {other} where a row should be")),
        }
    }
}

fn value(item: &mut Decoder<'_>) -> Result<Value, minicbor::decode::Error> {
    Ok(match item.datatype()? {
        Type::Null => {
            item.null()?;
            Value::Null
        }
        Type::String => Value::Text(item.str()?.to_owned()),
        Type::Bytes => Value::Bytes(item.bytes()?.to_vec()),
        _ => Value::Int(item.i64()?),
    })
}
