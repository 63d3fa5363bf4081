//! Sheets as a PDF file: PDF/A-2b (ISO 19005-2), its letters in the file.

use krilla::color::rgb;
use krilla::configure::{Configuration, Validator};
use krilla::geom::{PathBuilder, Point};
use krilla::metadata::{DateTime, Metadata};
use krilla::page::PageSettings;
use krilla::paint::Stroke;
use krilla::surface::Surface;
use krilla::text::{Font, TextDirection};
use krilla::{Document, SerializeSettings};
use ttf_parser::Face;

use super::layout::{Block, MARGIN, Mark, SHEET, lay};

/// A document to be drawn.
pub struct Sheet {
    /// Its title.
    pub title: String,
    /// What stands over every sheet: the office's name.
    pub over: String,
    /// What every sheet says beside it; empty for nothing.
    pub mark: &'static str,
    /// When it was made, by the office's clock, Unix milliseconds.
    pub made_ms: i64,
    /// What it holds.
    pub blocks: Vec<Block>,
}

/// The two faces that are used: Noto Sans, which has Latin, Greek and Cyrillic letters.
struct Faces {
    plain: (Face<'static>, Font),
    bold: (Face<'static>, Font),
}

fn face(bytes: &'static [u8]) -> Result<(Face<'static>, Font), String> {
    let read = Face::parse(bytes, 0).map_err(|e| e.to_string())?;
    let font = Font::new(bytes.into(), 0).ok_or("the font is not usable")?;
    Ok((read, font))
}

impl Faces {
    fn new() -> Result<Faces, String> {
        Ok(Faces {
            plain: face(ttf_noto_sans::REGULAR)?,
            bold: face(ttf_noto_sans::BOLD)?,
        })
    }

    fn of(&self, bold: bool) -> &(Face<'static>, Font) {
        if bold { &self.bold } else { &self.plain }
    }

    /// The text with what the face has no letter for shown as a question mark: a file that
    /// is to be kept may hold no empty boxes. What was signed stays as it is.
    fn shown(&self, text: &str, bold: bool) -> String {
        let (face, _) = self.of(bold);
        text.chars()
            .map(|c| match face.glyph_index(c) {
                Some(_) => c,
                None => '?',
            })
            .collect()
    }

    fn width(&self, text: &str, bold: bool) -> f32 {
        let (face, _) = self.of(bold);
        let units = f32::from(face.units_per_em());
        let advance = |c| {
            let glyph = face.glyph_index(c).or_else(|| face.glyph_index('?'));
            glyph.and_then(|g| face.glyph_hor_advance(g)).unwrap_or(0)
        };
        text.chars().map(|c| f32::from(advance(c)) / units).sum()
    }
}

/// The file.
///
/// # Errors
/// What the library says, in words.
pub fn draw(sheet: &Sheet) -> Result<Vec<u8>, String> {
    let faces = Faces::new()?;
    let sheets = lay(&sheet.blocks, &|text, bold| faces.width(text, bold));
    let mut document = Document::new_with(SerializeSettings {
        configuration: Configuration::new_with_validator(Validator::A2_B),
        ..SerializeSettings::default()
    });
    document.set_metadata(metadata(sheet));
    let settings = || PageSettings::from_wh(SHEET.0, SHEET.1).ok_or("no such sheet");
    let made = crate::pages::moment(sheet.made_ms, 0);
    for (n, marks) in sheets.iter().enumerate() {
        let mut page = document.start_page_with(settings()?);
        let mut surface = page.surface();
        let foot = format!("Made {made} UTC. Sheet {} of {}.", n + 1, sheets.len());
        for mark in frame(sheet, &faces, foot).iter().chain(marks) {
            put(&mut surface, &faces, mark);
        }
        surface.finish();
        page.finish();
    }
    document.finish().map_err(|e| format!("{e:?}"))
}

fn metadata(sheet: &Sheet) -> Metadata {
    let made = chrono::DateTime::from_timestamp_millis(sheet.made_ms).unwrap_or_default();
    let part = |number: u32| u8::try_from(number).unwrap_or(0);
    let (date, time) = (made.date_naive(), made.time());
    use chrono::{Datelike, Timelike};
    Metadata::new()
        .title(sheet.title.clone())
        .creator(sheet.over.clone())
        .language("en-GB".into())
        .creation_date(
            DateTime::new(u16::try_from(date.year()).unwrap_or(0))
                .month(part(date.month()))
                .day(part(date.day()))
                .hour(part(time.hour()))
                .minute(part(time.minute()))
                .second(part(time.second()))
                .utc_offset_hour(0)
                .utc_offset_minute(0),
        )
}

/// What stands on every sheet.
fn frame(sheet: &Sheet, faces: &Faces, foot: String) -> Vec<Mark> {
    let letters = |x, y, bold, text: String| Mark::Letters {
        x,
        y,
        size: 9.0,
        bold,
        text,
    };
    let right = SHEET.0 - MARGIN;
    let mark = right - faces.width(sheet.mark, true) * 9.0;
    vec![
        letters(
            MARGIN,
            MARGIN + 9.0,
            true,
            format!("{}: {}", sheet.over, sheet.title),
        ),
        letters(mark, MARGIN + 9.0, true, sheet.mark.into()),
        Mark::Rule {
            y: MARGIN + 16.0,
            from: MARGIN,
            to: right,
        },
        letters(MARGIN, SHEET.1 - MARGIN, false, foot),
    ]
}

fn put(surface: &mut Surface<'_>, faces: &Faces, mark: &Mark) {
    match mark {
        Mark::Letters {
            x,
            y,
            size,
            bold,
            text,
        } => {
            if text.is_empty() {
                return;
            }
            let (_, font) = faces.of(*bold);
            let text = faces.shown(text, *bold);
            let at = Point::from_xy(*x, *y);
            surface.set_stroke(None);
            surface.draw_text(at, font.clone(), *size, &text, false, TextDirection::Auto);
        }
        Mark::Rule { y, from, to } => {
            let mut path = PathBuilder::new();
            path.move_to(*from, *y);
            path.line_to(*to, *y);
            if let Some(path) = path.finish() {
                surface.set_fill(None);
                surface.set_stroke(Some(Stroke {
                    paint: rgb::Color::new(107, 122, 112).into(),
                    width: 0.5,
                    ..Stroke::default()
                }));
                surface.draw_path(&path);
                surface.set_stroke(None);
                surface.set_fill(Some(krilla::paint::Fill::default()));
            }
        }
    }
}
