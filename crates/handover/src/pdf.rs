//! A page as one PDF file for paper: tagged, its fonts embedded, its text searchable, its pictures as they came. Written
//! as PDF/A-2 (ISO 19005-2) asks; the same page gives the same bytes. Sheets are A4, and nothing but white stands where
//! Letter has no paper, so that either prints it whole.

mod body;
mod figures;
mod file;
mod letters;
mod sheets;
mod table;
mod tree;

use crate::page::Page;

/// The file.
pub fn document(page: &Page) -> Vec<u8> {
    let mut sheets = sheets::Sheets::new();
    body::set(&mut sheets, page);
    file::written(sheets, page)
}
