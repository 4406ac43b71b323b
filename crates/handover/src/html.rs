//! A page as one self-contained HTML document: no script, no outside request, everything from outside escaped.

mod svg;

use crate::drawing;
use crate::page::{Cell, Level, Page, Part, Table, is_numbered};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use report::markup::escaped;

const STYLE: &str = include_str!("../assets/page.css");

/// The document. Links to other pages of the hand-over lead to files of their stem beside it.
pub fn document(page: &Page) -> String {
    let mut out = String::from("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n");
    out += "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n";
    // Nothing may be fetched, whatever a name from outside may hold.
    out += "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; \
            style-src 'unsafe-inline'\"/>\n";
    out += "<link rel=\"icon\" href=\"data:,\"/>\n";
    out += &format!("<title>{}</title>\n<style>\n{STYLE}</style>\n</head>\n<body>\n", escaped(&page.title));
    out += "<a class=\"skip\" href=\"#main\">To the content</a>\n<header>\n";
    out += &format!("<h1>{}</h1>\n<p class=\"sub\">{}</p>\n", escaped(&page.title), escaped(&page.subtitle));
    out += "</header>\n<main id=\"main\">\n";
    let mut open = false;
    for (k, part) in page.parts.iter().enumerate() {
        if let Part::Heading(Level::Two, text) = part {
            out += if open { "</section>\n" } else { "" };
            out += &format!("<section aria-labelledby=\"s{k}\">\n<h2 id=\"s{k}\">{}</h2>\n", escaped(text));
            open = true;
        } else {
            out += &shown(part);
        }
    }
    out += if open { "</section>\n" } else { "" };
    out + &format!("</main>\n<footer><p>{}</p></footer>\n</body>\n</html>\n", escaped(&page.foot))
}

fn shown(part: &Part) -> String {
    match part {
        Part::Heading(_, text) => format!("<h3>{}</h3>\n", escaped(text)),
        Part::Text(text) => format!("<p>{}</p>\n", escaped(text)),
        Part::List(items) => {
            let class = |item: &str| if is_numbered(item) { " class=\"numbered\"" } else { "" };
            let item = |item: &String| format!("<li{}>{}</li>\n", class(item), escaped(item));
            let items: String = items.iter().map(item).collect();
            format!("<ul>\n{items}</ul>\n")
        }
        Part::Table(shown) => table(shown),
        Part::Map(map) => format!("<figure class=\"map\">{}</figure>\n", svg::of(&drawing::map(map))),
        Part::Pictures(pictures) if pictures.is_empty() => String::new(),
        Part::Pictures(pictures) => {
            let each: String = pictures.iter().map(|(words, picture)| figure(words, picture)).collect();
            format!("<div class=\"pictures\">\n{each}</div>\n")
        }
        Part::Bars(bars) => {
            let caption = escaped(&bars.caption);
            format!(
                "<figure><div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"{caption}\">{}</div>\
                 <figcaption>{caption}</figcaption></figure>\n",
                svg::of(&drawing::bars(bars))
            )
        }
    }
}

fn figure(words: &str, picture: &crate::Picture) -> String {
    // A row of fibres is wide and low and takes the whole width; a single fibre does not.
    let class = if picture.width > 2 * picture.height { " class=\"row\"" } else { "" };
    format!(
        "<figure{class}><img width=\"{}\" height=\"{}\" alt=\"{words}\" src=\"data:image/jpeg;base64,{}\"/>\
         <figcaption>{words}</figcaption></figure>\n",
        picture.width,
        picture.height,
        STANDARD.encode(&picture.jpeg),
        words = escaped(words)
    )
}

fn table(table: &Table) -> String {
    let caption = escaped(&table.caption);
    let head: String = table.head.iter().map(|h| format!("<th scope=\"col\">{}</th>", escaped(h))).collect();
    let rows: String = table.rows.iter().map(|row| format!("<tr>{}</tr>\n", cells(row))).collect();
    // A table wider than a phone is moved inside its box, also by keys.
    format!(
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"{caption}\">\n<table>\n\
         <caption>{caption}</caption>\n<thead><tr>{head}</tr></thead>\n<tbody>\n{rows}</tbody>\n</table>\n</div>\n"
    )
}

fn cells(row: &[Cell]) -> String {
    let one = |(k, cell): (usize, &Cell)| match k {
        0 => format!("<th scope=\"row\">{}</th>", inside(cell)),
        _ => format!("<td>{}</td>", inside(cell)),
    };
    row.iter().enumerate().map(one).collect()
}

fn inside(cell: &Cell) -> String {
    match cell {
        Cell::Words(words) => escaped(words),
        Cell::Link(words, stem) => format!("<a href=\"{}.html\">{}</a>", escaped(stem), escaped(words)),
        Cell::Mark(standing, more) => {
            let more = if more.is_empty() { String::new() } else { format!(" ({})", escaped(more)) };
            let (class, word, sign) = (standing.class(), standing.word(), svg::of_standing(*standing));
            format!("<span class=\"mark {class}\">{sign}{word}</span>{more}")
        }
    }
}
