//! The commands on the book as a person runs them: exit codes, words, JSON, faults.

use std::path::Path;
use std::process::{Command, Output};

struct Person {
    data: tempfile::TempDir,
}

impl Person {
    fn new() -> Self {
        Self { data: tempfile::tempdir().unwrap() }
    }

    fn run(&self, args: &[&str]) -> Output {
        Command::new(env!("CARGO_BIN_EXE_whelpward"))
            .args(args)
            .env("WHELPWARD_DATA", self.data.path())
            .env_remove("WHELPWARD_DATABASE")
            .env_remove("WHELPWARD_CARER")
            .current_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("../.."))
            .stdin(std::process::Stdio::null())
            .output()
            .unwrap()
    }

    fn says(&self, args: &[&str]) -> String {
        let output = self.run(args);
        assert!(output.status.success(), "{args:?}: {}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    }

    /// Exit code and the words on stderr.
    fn refused(&self, args: &[&str]) -> (i32, String) {
        let output = self.run(args);
        assert!(!output.status.success(), "{args:?} was accepted: {}", String::from_utf8_lossy(&output.stdout));
        (output.status.code().unwrap(), String::from_utf8(output.stderr).unwrap())
    }

    fn json(&self, args: &[&str]) -> serde_json::Value {
        let args: Vec<&str> = args.iter().copied().chain(["--json"]).collect();
        serde_json::from_str(&self.says(&args)).unwrap()
    }

    fn heather(&self) {
        self.says(&["litter", "add", "name=Heather", "time_zone=Europe/Berlin", "scale_step_g=1", "breed=Maltese"]);
        self.says(&["birth", "Ash", "--sex", "male", "--marks", "grey", "--weight", "168"]);
        self.says(&["birth", "Yarrow", "--sex", "female", "--marks", "blue stripe", "--weight", "150"]);
    }
}

#[test]
fn from_nothing_to_the_first_answer() {
    let person = Person::new();
    assert!(person.says(&["litter"]).contains("whelpward litter add"));
    person.heather();
    assert_eq!(person.says(&["weigh", "ash", "166"]), "Ash: 166\u{a0}g, -2\u{a0}g since the weight before.\n");
    let today = person.says(&["today"]);
    assert!(today.contains("Heather") && today.contains("Colostrum not seen yet"), "{today}");
    assert_eq!(person.json(&["today"])["pups"].as_array().unwrap().len(), 2);
    assert!(person.says(&["timetable"]).contains("No pup is fed by hand"));
}

#[test]
fn a_slip_is_a_question_and_saves_nothing() {
    let person = Person::new();
    person.heather();
    let (code, words) = person.refused(&["weigh", "Ash", "1680"]);
    assert_eq!(code, 3);
    assert!(words.contains("ten times") && words.contains("it was 168\u{a0}g") && words.contains("--keep"), "{words}");
    assert_eq!(person.json(&["history"]).as_array().unwrap().len(), 3, "the litter and two pups");
    let kept = person.json(&["weigh", "Ash", "1680", "--keep"]);
    assert_eq!(kept["facts"][0]["body"]["weight"], "1680", "as typed");
    assert!(person.says(&["undo"]).starts_with("Taken back: weighing of Ash"));
    assert_eq!(person.json(&["today"])["pups"][0]["weight_g"], 168.0);
}

#[test]
fn bad_words_name_what_is_allowed_and_lose_nothing() {
    let person = Person::new();
    person.heather();
    for (args, words) in [
        (&["weigh", "Asch", "166"][..], "Ash, Yarrow"),
        (&["weigh", "Ash", "1.2.3"], "weight"),
        (&["weigh", "Ash", "-5"], "unexpected argument"),
        (&["weigh", "Ash", "166", "--at", "3 am"], "03:15"),
        (&["weigh", "Ash", "166", "--at", "2099-01-01T00:00Z"], "future"),
        (&["check", "Ash", "suck", "perhaps"], "strong, weak, none"),
        (&["check", "Ash", "box_temperature_c", "30"], "about the litter"),
        (&["check", "rectal_temperature_c", "36"], "pup"),
        (&["feed", "Ash", "400"], "more than Ash weighs"),
        (&["feed", "Ash", "3", "--milk", "moon"], "a milk on record first"),
        (&["weigh", "Ash", "166", "--carer", "Nobody"], "whelpward add carer"),
        (&["birth", "Ash", "--sex", "male", "--marks", "x"], "a name that no other has"),
        (&["birth", "Reed", "--sex", "lizard", "--marks", "x"], "female, male, unknown"),
        (&["leave", "Ash", "vanished"], "stillborn, died"),
        (&["litter", "set", "scale_step_g=0"], "0.1 to 50"),
        (&["litter", "set", "colour=red"], "scale_step_g"),
        (&["litter", "add", "name=Heather", "time_zone=Europe/Berlin", "scale_step_g=1", "breed=x"], "not closed"),
        (&["correct", "zzzz", "weight=1"], "whelpward history"),
        (&["answer", "1", "same"], "whelpward questions"),
        (&["mix", "40"], "a milk on the shelf first"),
        (&["restore", "nothing.sqlite"], "nothing.sqlite"),
        (&["verify"], "no good copy"),
        (&["import-all", "Cargo.toml"], "export-all"),
        (&["today", "--litter", "Bracken"], "Heather"),
    ] {
        let (code, said) = person.refused(args);
        assert_eq!(code, 2, "{args:?}: {said}");
        assert!(said.contains(words), "{args:?}: {said}");
    }
    assert_eq!(person.json(&["history"]).as_array().unwrap().len(), 3);
}

#[test]
fn what_was_done_is_written_down_for_several_pups_at_once() {
    let person = Person::new();
    person.heather();
    let said = person.says(&["did", "worming", "all", "dam", "--product", "Paste", "--lot", "L-1", "--by", "Dr Test"]);
    assert_eq!(said, "Ash, Yarrow, the dam: worming, Paste, lot L-1.\n");
    person.says(&["did", "socialising", "ash", "--value", "children"]);
    let said = person.says(&["did", "chip", "Ash", "--value", "276 098106004321"]);
    assert!(!said.contains("twice") && !said.contains("too:"), "{said}");
    let flowing = |args: &[&str]| person.says(args).replace('\n', " ");
    let twice = flowing(&["did", "chip", "Yarrow", "--value", "276098106004321"]);
    assert!(twice.contains("no two animals carry one number"), "{twice}");
    let test = flowing(&["did", "chip", "Yarrow", "--value", "999 000000000001"]);
    assert!(test.contains("trying out readers"), "{test}");
    let stages = person.json(&["stages"]);
    assert_eq!(stages["pups"][0]["chip"]["shown"], "276 098106004321");
    for (args, words) in [
        (&["did", "worming", "Ash"][..], "as on the package"),
        (&["did", "wormed", "Ash"], "worming, vaccination"),
        (&["did", "nails", "dam"], "pup"),
        (&["did", "nails", "Asch"], "Ash, Yarrow"),
        (&["did", "chip", "all", "--value", "276098106004321"], "one pup for each number"),
        (&["did", "eyes_open", "Ash", "--value", "yes"], "nothing"),
        (&["did", "home_day", "Ash", "--value", "soon"], "2026-11-20"),
    ] {
        let (code, said) = person.refused(args);
        assert_eq!(code, 2, "{args:?}: {said}");
        assert!(said.contains(words), "{args:?}: {said}");
    }
    let out = person.data.path().join("out");
    person.says(&["folder", "write", out.to_str().unwrap()]);
    assert!(person.says(&["folder", "check", out.to_str().unwrap()]).contains("7 things done"));
}

#[test]
fn hostile_text_is_kept_as_text() {
    let person = Person::new();
    person.heather();
    let name = "\"]\n[[x]] <script>;'--";
    let (code, _) = person.refused(&["birth", name, "--sex", "male", "--marks", "x"]);
    assert_eq!(code, 2, "a control character is no name");
    let name = "\"] [[x]] = <script>alert(1)</script>,;'--";
    person.says(&["birth", name, "--sex", "male", "--marks", "comma, \"quote\"", "--weight", "160"]);
    person.says(&["weigh", name, "159"]);
    let out = person.data.path().join("out");
    person.says(&["folder", "write", out.to_str().unwrap()]);
    assert!(person.says(&["folder", "check", out.to_str().unwrap()]).contains("3 pups, 1 weighings"));
    let zip = person.data.path().join("all.zip");
    person.says(&["export-all", zip.to_str().unwrap()]);
    let mut archive = zip::ZipArchive::new(std::fs::File::open(&zip).unwrap()).unwrap();
    let mut page = String::new();
    std::io::Read::read_to_string(&mut archive.by_name("pages/litter-1.html").unwrap(), &mut page).unwrap();
    assert!(!page.contains("<script>") && page.contains("&lt;script&gt;"));
}

#[test]
fn copies_are_made_verified_and_put_back() {
    let person = Person::new();
    person.heather();
    let done = person.json(&["backup"]);
    assert_eq!(done["facts"], 4, "the litter, its date, two pups");
    let copy = done["path"].as_str().unwrap().to_owned();
    person.says(&["verify", &copy]);
    person.says(&["weigh", "Ash", "166"]);
    let told = person.says(&["restore", &copy]);
    assert!(told.contains("4 facts") && told.contains("kept in"), "{told}");
    assert_eq!(person.json(&["history"]).as_array().unwrap().len(), 3);
    // The book as it was before is a copy like any other.
    let kept = told.split("kept in ").nth(1).unwrap().trim().trim_end_matches('.').to_owned();
    assert!(person.says(&["verify", &kept]).contains("5 facts"));
    let mut bytes = std::fs::read(&copy).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&copy, bytes).unwrap();
    assert!(person.refused(&["restore", &copy]).1.contains("has changed since it was made"));
}

/// Two pups, a date order and a time that only a person can settle; asked twice, saved once.
#[test]
fn a_spreadsheet_is_shown_confirmed_and_taken_once() {
    let person = Person::new();
    person.says(&["litter", "add", "name=Heather", "time_zone=Europe/Berlin", "scale_step_g=1", "breed=Maltese"]);
    for pup in ["Ash", "Yarrow"] {
        let at = "2026-11-01T08:00+01:00";
        person.says(&["birth", pup, "--sex", "male", "--marks", "x", "--weight", "168", "--at", at]);
    }
    let sheet = person.data.path().join("sheet.csv");
    std::fs::write(&sheet, "Date;Ash;Yarrow\n02.11.2026;165,5;170\n03.11.2026;;172,5\n04.11.2026;heavy;175\n").unwrap();
    let file = sheet.to_str().unwrap();
    let (code, said) = person.refused(&["import", file]);
    assert_eq!(code, 3);
    for flag in ["--dates", "--unit", "--time"] {
        assert!(said.contains(flag), "{flag}: {said}");
    }
    let settled = ["import", file, "--dates", "day first", "--unit", "g", "--time", "08:00"];
    let (code, said) = person.refused(&settled);
    assert_eq!(code, 3);
    assert!(said.contains("4 weighings, 1 cells") && said.contains("heavy") && said.contains("--yes"), "{said}");
    let args: Vec<&str> = settled.into_iter().chain(["--yes"]).collect();
    assert_eq!(person.json(&args)["added"], 4);
    assert_eq!(person.json(&args)["there_before"], 4);
    let history = person.says(&["history"]);
    assert!(history.contains("Mon 2 Nov 2026, 08:00  weighing Ash: 165.5\u{a0}g"), "{history}");
}

#[test]
fn every_shell_has_completions() {
    let person = Person::new();
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        assert!(person.says(&["completions", shell]).contains("weigh"), "{shell}");
    }
}

#[test]
fn a_litter_and_a_name_are_erased_only_when_that_is_meant() {
    let person = Person::new();
    person.heather();
    person.says(&["add", "carer", "name=Robin"]);
    person.says(&["weigh", "Ash", "166", "--carer", "Robin", "--note", "Robin was quick"]);
    person.says(&["backup"]);
    // Such as one of last winter, which is kept beside the newest.
    let copies = person.data.path().join("copies");
    let newest = copies.read_dir().unwrap().map(|f| f.unwrap().path()).find(|p| p.extension().unwrap() == "sqlite");
    std::fs::copy(newest.unwrap(), copies.join("book-20260102T030405Z.sqlite")).unwrap();
    let zip = person.data.path().join("all.zip");
    let zip = zip.to_str().unwrap();

    let (code, nobody) = person.refused(&["erase", "person", "Nobody", "--export", zip]);
    assert!(code == 2 && nobody.contains("allowed: Robin"), "{nobody}");
    assert!(!Path::new(zip).exists(), "a slip in the name writes nothing");
    let (code, not_out) = person.refused(&["erase", "person", "Robin", "--confirm", "Robin"]);
    assert!(code == 2 && not_out.contains("--export FILE"), "{not_out}");
    let (code, not_yet) = person.refused(&["erase", "person", "Robin", "--export", zip]);
    assert!(
        code == 3 && not_yet.contains("Nothing was erased yet") && not_yet.contains("Robin was quick"),
        "{not_yet}"
    );
    let (code, other) = person.refused(&["erase", "person", "Robin", "--confirm", "Ash"]);
    assert!(code == 2 && other.contains("letter by letter"), "{other}");
    // A copy has the second in which it was made in its name.
    std::thread::sleep(std::time::Duration::from_millis(1100));
    let done = person.says(&["erase", "person", "Robin", "--confirm", "Robin"]);
    assert!(done.contains("Robin is now \"Person 1\" in 2 entries.") && done.contains("--old-copies"), "{done}");
    assert!(done.lines().all(|line| line.chars().count() <= 80 || line.contains('/')), "{done}");
    let history = person.says(&["history", "--json"]);
    assert!(history.contains("Person 1 was quick") && !history.contains("Robin"), "{history}");

    std::thread::sleep(std::time::Duration::from_millis(1100));
    let done = person.says(&[
        "erase",
        "litter",
        "Heather",
        "--export",
        &format!("{zip}2"),
        "--confirm",
        "Heather",
        "--old-copies",
    ]);
    assert!(done.contains("Heather is erased") && done.contains("1 older copy removed"), "{done}");
    assert_eq!(copies.read_dir().unwrap().count(), 2, "the new copy and its checksum");
    assert!(person.says(&["litter"]).contains("whelpward litter add"));

    // The ZIP of before brings it back.
    person.says(&["import-all", &format!("{zip}2")]);
    assert!(person.says(&["history", "--json"]).contains("Person 1 was quick"));
}

#[test]
fn of_two_litters_with_one_name_none_is_erased_by_it() {
    let person = Person::new();
    person.heather();
    for pup in ["Ash", "Yarrow"] {
        person.says(&["leave", pup, "gone_home"]);
    }
    person.says(&["litter", "add", "name=Heather", "time_zone=Europe/Berlin", "scale_step_g=1", "breed=Maltese"]);
    let zip = person.data.path().join("all.zip");
    let ask = ["erase", "litter", "Heather", "--export", zip.to_str().unwrap(), "--confirm", "Heather"];
    let (code, which) = person.refused(&ask);
    assert!(code == 2 && which.contains("the id of one"), "{which}");
    let id = which.lines().find(|l| l.contains("2 pups")).unwrap().split_whitespace().next().unwrap();
    person.says(&["erase", "litter", id, "--export", zip.to_str().unwrap(), "--confirm", "Heather"]);
    assert!(person.says(&["litter"]).contains("Heather: 0 of 0 pups"));
}
