//! Prints and the look back, from a folder, at the command.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use whelpward_web::print::Print;

fn example() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/orphaned-large-litter")
}

fn whelpward(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_whelpward")).args(arguments).output().unwrap()
}

fn said(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

#[test]
fn each_print_is_written_as_pdf_and_as_html_and_says_where() {
    let folder = tempfile::tempdir().unwrap();
    let example = example();
    for print in Print::ALL {
        let pdf = folder.path().join(format!("{}.pdf", print.word()));
        let html = folder.path().join(format!("{}.html", print.word()));
        let (pdf, html) = (pdf.to_str().unwrap(), html.to_str().unwrap());
        let done = whelpward(&["print", print.word(), example.to_str().unwrap(), "--pdf", pdf, "--html", html]);
        assert!(done.status.success(), "{}", said(&done.stderr));
        let out = said(&done.stdout);
        assert!(out.contains(pdf) && out.contains(html), "{out}");
        assert!(std::fs::read(pdf).unwrap().starts_with(b"%PDF-1.7"));
        let page = std::fs::read_to_string(html).unwrap();
        assert!(page.contains("INVENTED EXAMPLE") && page.contains("@page"), "{}", print.word());
    }
}

#[test]
fn what_cannot_be_printed_says_what_to_do_and_leaves_the_old_file() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("vet.pdf");
    std::fs::write(&file, "old").unwrap();
    let example = example();
    let example = example.to_str().unwrap();
    let nobody = whelpward(&["print", "vet", example, "--pup", "Nobody", "--pdf", file.to_str().unwrap()]);
    assert_eq!(nobody.status.code(), Some(2));
    assert!(said(&nobody.stderr).contains("Avocet"), "it names the pups: {}", said(&nobody.stderr));
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "old");
    let nowhere = whelpward(&["print", "vet", example, "--pdf", "/no/such/folder/vet.pdf"]);
    assert_eq!(nowhere.status.code(), Some(2));
    assert!(said(&nowhere.stderr).contains("Give a file in a folder that there is"), "{}", said(&nowhere.stderr));
    let neither = whelpward(&["print", "vet", example]);
    assert_eq!(neither.status.code(), Some(2));
    assert!(said(&neither.stderr).contains("--pdf"), "{}", said(&neither.stderr));
}

#[test]
fn looking_back_fits_eighty_columns_and_gives_its_numbers_as_json() {
    let example = example();
    let text = said(&whelpward(&["review", example.to_str().unwrap()]).stdout);
    assert!(text.starts_with("LOOKING BACK: Estuary\n") && text.contains("INVENTED EXAMPLE"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    let json = said(&whelpward(&["review", example.to_str().unwrap(), "--json"]).stdout);
    let read: serde_json::Value = serde_json::from_str(&json).unwrap();
    // Eight pups in the folder, of which one was stillborn.
    assert_eq!(read["losses"]["born"], 8);
    assert_eq!(read["losses"]["here"], 7);
}
