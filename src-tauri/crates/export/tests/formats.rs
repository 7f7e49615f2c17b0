//! Text that a stranger wrote comes out as it was written in every format. Each file is read again by a library that knows
//! nothing of the writer: pulldown-cmark (CommonMark and GFM tables), csv, roxmltree by way of usvg, serde_json.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail like tests")]

use export::{
    Anchor, Block, Cell, Chart, DataColumn, DataTable, Item, Mark, Report, Tone, What,
    literal_line, to_csv, to_csvw, to_html, to_json_ld, to_markdown, to_pdf, to_png, to_svg,
    to_xlsx,
};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};

const HOSTILE: [&str; 19] = [
    "<script>alert(1)</script>",
    "a | b || c",
    "one\ntwo",
    "=1+2",
    "+1",
    "-1",
    "@SUM(A1)",
    "\tcell",
    "'quoted'",
    "turn \u{202E}around\u{2066}",
    "**bold** _soft_ `code` ~~gone~~ [x](y) ![z](w)",
    "# heading",
    "1. list\n- list",
    "https://example.org www.example.org a@example.org",
    "&amp; &lt; \\ \\| </style>",
    "\"quotes\", and ]]> --> ${x}",
    "2) list",
    "closed #",
    "7. a@b.org ##",
];

fn report() -> Report {
    let column = |key: &str, what| DataColumn {
        key: key.into(),
        title: key.into(),
        unit: String::new(),
        what,
    };
    let table = DataTable {
        id: "hostile".into(),
        title: HOSTILE[0].into(),
        columns: vec![column("text", What::Text), column("number", What::Number)],
        rows: HOSTILE
            .iter()
            .zip(1_u8..)
            .map(|(it, n)| vec![Cell::text(*it), Cell::number(f64::from(n) + 0.25, 2)])
            .collect(),
        notes: Vec::new(),
    };
    let words = HOSTILE.iter().zip(1_u8..).map(|(it, n)| Mark::Words {
        x: 0.0,
        y: f64::from(n) * 12.0,
        text: (*it).into(),
        anchor: Anchor::Start,
        size: 9.0,
        tone: Tone::Ink,
        bold: false,
    });
    let chart = Chart {
        id: "hostile-chart".into(),
        title: HOSTILE[0].into(),
        description: HOSTILE[15].into(),
        width: 400.0,
        height: 220.0,
        marks: words.collect(),
    };
    let item = Item {
        key: "a/b".into(),
        maker: HOSTILE[0].into(),
        model: HOSTILE[9].into(),
        category: "loudspeaker".into(),
        price: None,
        rating: 50.0,
        rating_note: String::new(),
        properties: Vec::new(),
        sentences: HOSTILE.map(str::to_owned).into(),
    };
    let mut blocks: Vec<Block> =
        HOSTILE.iter().map(|it| Block::Text { text: (*it).into() }).collect();
    blocks.extend(HOSTILE.map(|it| Block::Heading { level: 3, text: it.into(), new_page: false }));
    blocks.push(Block::List { items: HOSTILE.map(str::to_owned).into() });
    blocks.push(Block::Table(table));
    blocks.push(Block::Chart(chart));
    Report {
        title: HOSTILE[0].into(),
        subtitle: HOSTILE[9].into(),
        author: HOSTILE[14].into(),
        date: "2026-11-25".into(),
        edition: None,
        blocks,
        items: vec![item],
        is_ranked: true,
    }
}

fn table() -> DataTable {
    report().tables().next().unwrap().clone()
}

/// The texts of table cells and of headings as a reader of Markdown sees them.
fn shown(markdown: &str) -> Vec<String> {
    let (mut list, mut inside) = (Vec::new(), None);
    for event in Parser::new_ext(markdown, Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH) {
        match event {
            Event::Start(Tag::TableCell | Tag::Heading { .. }) => inside = Some(String::new()),
            Event::End(TagEnd::TableCell | TagEnd::Heading(_)) => list.extend(inside.take()),
            Event::Text(it) => {
                if let Some(cell) = &mut inside {
                    cell.push_str(&it);
                }
            }
            Event::InlineHtml(it) if &*it == "<br>" => {
                if let Some(cell) = &mut inside {
                    cell.push(' ');
                }
            }
            // Parts an address that no link shall be made of; a reader sees nothing of it.
            Event::InlineHtml(it) if &*it == "<!-- -->" => {}
            Event::InlineHtml(it) | Event::Html(it) => panic!("{it} became markup"),
            Event::Code(it) => panic!("{it} became code"),
            Event::Start(
                it @ (Tag::Link { .. } | Tag::Emphasis | Tag::Strikethrough | Tag::CodeBlock(_)),
            ) => panic!("{it:?} came of a text"),
            _ => {}
        }
    }
    list
}

#[test]
fn markdown_shows_every_text_and_obeys_none() {
    let markdown = to_markdown(&report());
    let found = shown(&markdown);
    for it in HOSTILE {
        let wanted = literal_line(it).trim().to_owned();
        let times = found.iter().filter(|it| **it == wanted).count();
        assert!(times >= 2, "{it:?} stands {times} times, not as cell and heading: {found:#?}");
    }
    // The title, the headings, and two columns with their head.
    assert_eq!(found.len(), 1 + HOSTILE.len() + 2 * (HOSTILE.len() + 1));
}

#[test]
fn html_holds_no_element_of_a_text() {
    let html = to_html(&report());
    assert!(!html.contains("<script>"));
    assert_eq!(html.matches("</style>").count(), 1);
    assert!(!html.contains('\u{202E}') && html.contains("⟨U+202E⟩"));
    assert_eq!(html, to_html(&report()));
}

/// A number stays a number, and a text that a spreadsheet would run has an apostrophe before it.
#[test]
fn csv_is_read_back_with_every_character() {
    let text = to_csv(&table()).unwrap();
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), HOSTILE.len());
    for ((row, it), n) in rows.iter().zip(HOSTILE).zip(1_u8..) {
        let plain = row[0].strip_prefix('\'').unwrap_or(&row[0]);
        assert_eq!(plain, it);
        assert!(!row[0].starts_with(['=', '+', '-', '@', '\t']), "{it:?} would run");
        assert_eq!(row[1].parse::<f64>().unwrap().to_bits(), (f64::from(n) + 0.25).to_bits());
    }
    let described: serde_json::Value = serde_json::from_str(&to_csvw(&table())).unwrap();
    let names: Vec<&str> = described["tableSchema"]["columns"]
        .as_array()
        .unwrap()
        .iter()
        .map(|it| it["name"].as_str().unwrap())
        .collect();
    assert_eq!(names, reader.headers().unwrap().iter().collect::<Vec<_>>());
}

#[test]
fn json_ld_keeps_every_character_and_ends_no_script() {
    let text = to_json_ld(&report());
    assert!(!text.contains("</"));
    let read: serde_json::Value = serde_json::from_str(&text).unwrap();
    let product = &read["itemListElement"][0]["item"];
    assert_eq!(product["brand"]["name"], HOSTILE[0]);
    assert_eq!(product["model"], HOSTILE[9]);
}

#[test]
fn pictures_and_documents_come_out_the_same_twice() {
    let report = report();
    let chart = report.charts().next().unwrap();
    assert!(!to_svg(chart).contains("<script>"));
    assert_eq!(to_png(chart).unwrap(), to_png(chart).unwrap());
    assert_eq!(to_pdf(&report).unwrap(), to_pdf(&report).unwrap());
    assert_eq!(to_xlsx(&report).unwrap(), to_xlsx(&report).unwrap());
}
