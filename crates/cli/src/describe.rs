//! Documents made from the program's own tables, so that they cannot grow old.

use whelpward_core::{record, references, report};

#[derive(Clone, Copy, clap::ValueEnum)]
pub enum Document {
    /// docs/FORMAT.md: every key and column of a litter folder
    Format,
    /// docs/REFERENCES.md: where the numbers come from
    References,
    /// JSON Schema of litter.toml
    LitterSchema,
    /// Table Schema of the CSV tables
    TablesSchema,
    /// JSON Schema of a fact of the book
    FactSchema,
    /// JSON Schema of `today --json`
    TodaySchema,
    /// JSON Schema of `dam --json`
    DamSchema,
    /// JSON Schema of one line of `assess --json`
    AssessSchema,
    /// JSON Schemas of `milk compare`, `blend` and `mix` with --json
    MilkSchema,
    /// JSON Schema of `timetable --json`
    TimetableSchema,
    /// JSON Schema of `supplies --json`
    SuppliesSchema,
    /// JSON Schema of `stages --json`
    StagesSchema,
    /// JSON Schema of `review --json`
    ReviewSchema,
}

pub fn text(document: Document) -> String {
    let pretty = |value: &serde_json::Value| format!("{value:#}\n");
    match document {
        Document::Format => record::schema::format_page(),
        Document::References => references::as_markdown(),
        Document::LitterSchema => pretty(&record::schema::litter_schema()),
        Document::TablesSchema => pretty(&record::schema::tables_schema()),
        Document::AssessSchema => pretty(&report::assess::schema()),
        Document::DamSchema => pretty(&report::dam::schema()),
        Document::MilkSchema => pretty(&report::milk::schema()),
        Document::FactSchema => pretty(&whelpward_core::book::schema()),
        Document::TodaySchema => pretty(&report::schema()),
        Document::SuppliesSchema => pretty(&report::supplies::schema()),
        Document::ReviewSchema => pretty(&whelpward_core::review::schema()),
        Document::StagesSchema => pretty(&report::stages::schema()),
        Document::TimetableSchema => pretty(&report::timetable::schema()),
    }
}
