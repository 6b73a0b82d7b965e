//! Any document becomes HTML and a PDF that keeps the accessibility standard (the writer refuses
//! another), whatever names are in it.

use whelpward_print::{Block, Chart, Column, Document, Foot, Paper, Table, Text, html, pdf};

const HARD: &[&str] = &[
    "Złóć Ærøskøbing Ξένια Пёс Ђорђе Դdelays ქართული",
    "<script>alert(1)</script> \" ' & </style> {page}",
    "Wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww",
    "emoji 🐶🏽‍🦰 private \u{e123} joined \u{200d} turned \u{202e}abc\u{202c} zero \u{0} bell \u{7}",
    "שלום كلب 犬",
    "",
    " ",
    "z͈̤̭͖̉͑́a̳ͫ́̇͑̽͒ͯlͨ͗̍̀̍̔̀ģ͔̫̫̄o̗̠͔͆̏̓͢",
];

fn document(is_wide: bool) -> Document {
    let rows = |n: usize| {
        (0..n)
            .map(|i| {
                let name = HARD[i % HARD.len()];
                vec![vec![name.into()], vec![Text::default().large("12.5").small(" mL")], vec![], vec![name.into()]]
            })
            .collect()
    };
    let columns = || {
        vec![Column::new("Pup", 3.0), Column::new("Amount", 2.0), Column::new("Took", 1.0), Column::new("Note", 3.0)]
    };
    let svg = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 400 236"><path d="M10 10L390 200" stroke="currentColor" opacity="0.5"/><text x="40" y="40" font-size="14">12 days ž</text></svg>"#;
    let mut blocks = vec![
        Block::Text(HARD[0].into()),
        Block::Framed(Text::default().bold("Stop. ").plain(HARD.join(" "))),
        Block::Heading(2, HARD[1].into()),
        Block::Table(Table { caption: HARD[3].into(), columns: columns(), rows: rows(40), row_mm: 14.0 }),
        Block::Heading(2, "Chart".into()),
        Block::Chart(Chart { svg: svg.into(), says: HARD[3].into(), width_mm: 120.0 }),
        Block::Beside(
            HARD.iter().map(|t| Text::from(*t)).collect(),
            Chart { svg: svg.into(), says: HARD[1].into(), width_mm: 24.0 },
        ),
        Block::List(HARD.iter().map(|t| Text::from(*t)).collect()),
        Block::Write("Written later".into(), 3),
        Block::NewPage,
        Block::Heading(3, "A row taller than a page".into()),
    ];
    let tall = vec![vec!["x".into()], vec![HARD.join(" ").repeat(30).as_str().into()], vec![], vec![]];
    blocks.push(Block::Table(Table { caption: "c".into(), columns: columns(), rows: vec![tall], row_mm: 0.0 }));
    Document {
        title: format!("{} {}", HARD[1], HARD[2]),
        language: "en".into(),
        is_wide,
        blocks,
        foot: Foot { text: HARD.join(" ").repeat(3), page_words: "Page {page} of {pages}".into() },
    }
}

#[test]
fn hard_names_make_a_pdf_that_keeps_the_standard_on_both_papers() {
    for is_wide in [false, true] {
        for paper in [Paper::A4, Paper::Letter] {
            let bytes = pdf::pdf(&document(is_wide), paper).unwrap();
            assert!(bytes.starts_with(b"%PDF-1.7"));
            if let Ok(folder) = std::env::var("WHELPWARD_PRINTS") {
                std::fs::write(format!("{folder}/hard-{}-{is_wide}.pdf", paper.word()), bytes).unwrap();
            }
        }
    }
}

#[test]
fn an_empty_document_is_one_page() {
    let empty = Document {
        title: "Nothing".into(),
        language: "en".into(),
        is_wide: false,
        blocks: vec![
            Block::Table(Table { columns: vec![Column::new("a", 1.0)], ..Table::default() }),
            Block::List(Vec::new()),
            Block::Text(Text::default()),
        ],
        foot: Foot { text: String::new(), page_words: String::new() },
    };
    pdf::pdf(&empty, Paper::A4).unwrap();
}

#[test]
fn html_holds_every_word_and_no_element_of_a_name() {
    let page = html::file(&document(false), Paper::A4);
    assert!(!page.contains("<script") && !page.contains("</style> {page}"));
    assert_eq!(page.matches("</style>").count(), 1);
    assert!(page.contains("&lt;script&gt;") && page.contains("犬") && page.contains("<th scope=\"row\">"));
}
