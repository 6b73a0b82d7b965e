//! The words of the commands on the book.

#![expect(clippy::doc_markdown, reason = "these texts are shown to a person as they stand")]

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};
use clap_complete::Shell;

#[derive(Args, Debug, Clone, Copy)]
pub struct Out {
    /// Answer as JSON
    #[arg(long)]
    pub json: bool,
}

/// What can be said of anything that happened.
#[derive(Args, Debug)]
pub struct When {
    /// When: 03:15, or 2026-11-20T03:15+01:00; now when left out
    #[arg(long, value_name = "TIME")]
    pub at: Option<String>,
    #[arg(long)]
    pub note: Option<String>,
}

#[derive(Subcommand, Debug)]
pub enum BookCommand {
    /// The litters of the book: list them, add one, change one
    Litter {
        #[command(subcommand)]
        what: Option<Litter>,
        #[command(flatten)]
        out: Out,
    },
    /// Write down the birth of a pup (asks what is missing)
    Birth(Birth),
    /// Write down a weight; without a pup, goes through the litter
    Weigh(Weigh),
    /// Write down a feed; without a pup, goes through the litter
    Feed(Feed),
    /// Weigh before and after nursing; without a pup, goes through the litter
    Nurse(Nurse),
    /// Write down an observation: whelpward check Sedge suck strong
    Check(Check),
    /// Write down what was done or first seen: whelpward did worming Sedge Clover
    Did(Did),
    /// A pup died, was put to sleep, was fostered out or went home
    Leave(Leave),
    /// Write down a batch of milk that was mixed
    Mix(Mix),
    /// Add or change a carer, milk, vet, vet's order, food or the dam
    Add(Add),
    /// What a vet prescribed, and that it was given; never a dose of our own
    Medicine {
        #[command(subcommand)]
        what: Medicine,
        #[command(flatten)]
        out: Out,
    },
    /// The entries of a litter, newest first, with their ids and former versions
    History(History),
    /// Put another value in the place of an entry: whelpward correct ID weight=357
    Correct(Correct),
    /// Take back the last entry made on this computer, or one by its id
    Undo {
        /// From `whelpward history`
        id: Option<String>,
        #[command(flatten)]
        out: Out,
    },
    /// What only a person can settle
    Questions {
        #[command(flatten)]
        out: Out,
    },
    /// Answer a question of `whelpward questions`
    Answer {
        number: usize,
        /// same: written twice; two: two feeds
        #[arg(value_enum)]
        answer: SameOrTwo,
        #[command(flatten)]
        out: Out,
    },
    /// Take a litter folder in, write one out, or look for mistakes in one
    Folder {
        #[command(subcommand)]
        what: Folder,
        #[command(flatten)]
        out: Out,
    },
    /// Take weighings from a spreadsheet saved as text; shows how it reads and asks first
    Import(Import),
    /// Write the whole book into one ZIP
    ExportAll { file: PathBuf },
    /// Erase a whole litter, or a person's name, for good; only what is in a ZIP already
    Erase {
        #[command(subcommand)]
        what: Erase,
    },
    /// Read the ZIP of a whole book
    ImportAll { file: PathBuf },
    /// Make a verified copy of the book
    Backup {
        /// Into this folder instead of the one beside the book
        #[arg(long, value_name = "DIR")]
        to: Option<PathBuf>,
        /// And into a second folder, such as a USB stick
        #[arg(long, value_name = "DIR")]
        second: Option<PathBuf>,
        #[command(flatten)]
        out: Out,
    },
    /// Put a copy in the place of the book; the book is kept beside it
    Restore { copy: PathBuf },
    /// Verify a copy, or the newest one
    Verify { copy: Option<PathBuf> },
    /// Move the whole household to another, empty database
    Move {
        /// A file, or postgres://…
        to: String,
    },
    /// Print the completions for a shell
    Completions {
        #[arg(value_enum)]
        shell: Shell,
    },
}

#[derive(Subcommand, Debug)]
pub enum Erase {
    /// A litter with all that was ever written of it
    Litter {
        /// Its name; its id where two have the same
        name: String,
        #[command(flatten)]
        how: EraseHow,
    },
    /// A name, in every litter; what the person wrote stays, by "Person 1"
    Person {
        name: String,
        #[command(flatten)]
        how: EraseHow,
    },
}

#[derive(Args, Debug)]
pub struct EraseHow {
    /// First write the whole book into this new ZIP, as export-all does
    #[arg(long, value_name = "FILE")]
    pub export: Option<PathBuf>,
    /// The name once more, instead of being asked for it
    #[arg(long, value_name = "NAME")]
    pub confirm: Option<String>,
    /// Remove the older copies of the book too, which still hold it
    #[arg(long)]
    pub old_copies: bool,
}

#[derive(Subcommand, Debug)]
pub enum Litter {
    /// All litters
    List,
    /// Add a litter (asks what is missing): whelpward litter add name=Heather breed=Maltese
    Add {
        /// key=value of [litter] in docs/FORMAT.md
        keys: Vec<String>,
        /// Do not take over carers, milks, vets and foods from the last litter
        #[arg(long)]
        bare: bool,
    },
    /// Change something: whelpward litter set scale_step_g=1
    Set {
        /// key=value
        #[arg(required = true)]
        keys: Vec<String>,
    },
}

#[derive(Args, Debug)]
pub struct Birth {
    /// Name or colour of the pup
    pub name: Option<String>,
    /// female, male or unknown
    #[arg(long)]
    pub sex: Option<String>,
    /// What tells it from the others: coat, collar with its pattern
    #[arg(long)]
    pub marks: Option<String>,
    /// As the scale shows it
    #[arg(long)]
    pub weight: Option<String>,
    /// g, oz or lb_oz
    #[arg(long, default_value = "g")]
    pub unit: String,
    /// When it was born: 03:15, or 2026-11-20T03:15+01:00; now when left out
    #[arg(long, value_name = "TIME")]
    pub at: Option<String>,
    #[arg(long)]
    pub stillborn: bool,
    #[arg(long)]
    pub premature: bool,
    #[command(flatten)]
    pub out: Out,
}

#[derive(Args, Debug)]
pub struct Weigh {
    pub pup: Option<String>,
    /// As the scale shows it
    #[arg(requires = "pup")]
    pub weight: Option<String>,
    /// g, oz or lb_oz; the litter's own when left out
    #[arg(long)]
    pub unit: Option<String>,
    /// before or after a feed
    #[arg(long, value_enum)]
    pub taken: Option<Taken>,
    #[command(flatten)]
    pub when: When,
    /// The number is unusual, I have looked again, and it is right
    #[arg(long)]
    pub keep: bool,
    #[command(flatten)]
    pub out: Out,
}

#[derive(ValueEnum, Debug, Clone, Copy)]
pub enum Taken {
    Before,
    After,
}

#[derive(Args, Debug)]
pub struct Feed {
    pub pup: Option<String>,
    /// What it took, in mL; as planned when left out
    #[arg(requires = "pup")]
    pub taken_ml: Option<String>,
    /// What was offered, in mL, when it did not take all
    #[arg(long, value_name = "ML")]
    pub offered: Option<String>,
    /// bottle, tube or nursing
    #[arg(long)]
    pub method: Option<String>,
    /// Nursing at the dam, weighed before and after, in g
    #[arg(long, num_args = 2, value_names = ["BEFORE_G", "AFTER_G"], conflicts_with_all = ["taken_ml", "offered"])]
    pub nursed: Option<Vec<String>>,
    #[arg(long)]
    pub milk: Option<String>,
    #[command(flatten)]
    pub when: When,
    /// It was fed shortly before, and this is another feed
    #[arg(long)]
    pub keep: bool,
    #[command(flatten)]
    pub out: Out,
}

#[derive(Args, Debug)]
pub struct Nurse {
    pub pup: Option<String>,
    /// Weight before and after, as the scale shows it
    #[arg(num_args = 2, requires = "pup", value_names = ["BEFORE", "AFTER"])]
    pub weights: Option<Vec<String>>,
    /// g or oz; the litter's own when left out
    #[arg(long)]
    pub unit: Option<String>,
    /// It passed urine or stool between the two weighings
    #[arg(long)]
    pub soiled: bool,
    #[command(flatten)]
    pub when: When,
    /// The numbers are unusual, I have looked again, and they are right
    #[arg(long)]
    pub keep: bool,
    #[command(flatten)]
    pub out: Out,
}

#[derive(Args, Debug)]
pub struct Check {
    /// [PUP] KIND VALUE, as in: Sedge rectal_temperature_c 36.2, or: box_temperature_c 30
    #[arg(num_args = 2..=3, required = true)]
    pub words: Vec<String>,
    #[command(flatten)]
    pub when: When,
    #[command(flatten)]
    pub out: Out,
}

#[derive(Args, Debug)]
pub struct Did {
    /// worming, vaccination, chip, nails, eyes_open …; docs/FORMAT.md lists them
    pub kind: String,
    /// The pups, or all; dam for the dam
    #[arg(required = true)]
    pub whom: Vec<String>,
    /// The chip's number, what a pup met, the new owner's name …
    #[arg(long)]
    pub value: Option<String>,
    /// As on the package
    #[arg(long)]
    pub product: Option<String>,
    /// The number of the lot on the package
    #[arg(long)]
    pub lot: Option<String>,
    /// How much was given, as you wrote it down
    #[arg(long, value_name = "WORDS")]
    pub as_given: Option<String>,
    /// Who did it, such as the vet
    #[arg(long)]
    pub by: Option<String>,
    #[command(flatten)]
    pub when: When,
    #[command(flatten)]
    pub out: Out,
}

#[derive(Args, Debug)]
pub struct Leave {
    pub pup: String,
    /// stillborn, died, put_to_sleep, fostered_out or gone_home
    pub why: String,
    #[command(flatten)]
    pub when: When,
    #[command(flatten)]
    pub out: Out,
}

#[derive(Args, Debug)]
pub struct Mix {
    /// How much, in mL
    pub volume_ml: String,
    #[arg(long)]
    pub milk: Option<String>,
    #[arg(long, value_name = "G")]
    pub powder: Option<String>,
    #[arg(long, value_name = "ML")]
    pub water: Option<String>,
    #[arg(long, value_name = "TIME")]
    pub at: Option<String>,
    /// It was mixed so, although the label says otherwise
    #[arg(long)]
    pub keep: bool,
    #[command(flatten)]
    pub out: Out,
}

#[derive(ValueEnum, Debug, Clone, Copy)]
pub enum Addable {
    Carer,
    Milk,
    Vet,
    VetOrder,
    Food,
    Dam,
    Note,
}

#[derive(Args, Debug)]
pub struct Add {
    #[arg(value_enum)]
    pub what: Addable,
    /// key=value as in docs/FORMAT.md; lists with ; between
    pub keys: Vec<String>,
    /// For a vet's order or a note
    #[arg(long)]
    pub pup: Option<String>,
    /// The ratio of a milk was compared with its label once more
    #[arg(long)]
    pub keep: bool,
    #[command(flatten)]
    pub out: Out,
}

#[derive(Subcommand, Debug)]
pub enum Medicine {
    /// What a vet prescribed: key=value (vet, product, as_prescribed, first_at, every_hours, until)
    Prescribed {
        keys: Vec<String>,
        #[arg(long)]
        pup: Option<String>,
    },
    /// That it was given: key=value (product, as_given, lot, given_at)
    Given {
        keys: Vec<String>,
        #[arg(long)]
        pup: Option<String>,
    },
    /// What is due
    Due,
}

#[derive(Args, Debug)]
pub struct History {
    /// Only of this pup
    pub pup: Option<String>,
    /// How many entries
    #[arg(long, default_value_t = 20)]
    pub most: usize,
    #[command(flatten)]
    pub out: Out,
}

#[derive(Args, Debug)]
pub struct Correct {
    /// From `whelpward history`; the first letters and digits are enough
    pub id: String,
    /// key=value; `key=` alone takes a value away
    pub keys: Vec<String>,
    /// It was about this pup
    #[arg(long)]
    pub pup: Option<String>,
    #[command(flatten)]
    pub out: Out,
}

#[derive(ValueEnum, Debug, Clone, Copy, PartialEq, Eq)]
pub enum SameOrTwo {
    Same,
    Two,
}

#[derive(Subcommand, Debug)]
pub enum Folder {
    /// Look for mistakes in a litter folder, and do nothing else
    Check { folder: PathBuf },
    /// Take a litter folder into the book; twice adds nothing
    Load { folder: PathBuf },
    /// Write the litter into a new folder
    Write { folder: PathBuf },
}

#[derive(Args, Debug)]
pub struct Import {
    /// Saved as CSV or text
    pub file: PathBuf,
    /// comma, semicolon or tab
    #[arg(long)]
    pub separator: Option<String>,
    /// point or comma
    #[arg(long)]
    pub decimal: Option<String>,
    /// Whether the other mark parts thousands: yes or no
    #[arg(long)]
    pub thousands: Option<String>,
    /// day first, month first or year first
    #[arg(long)]
    pub dates: Option<String>,
    /// g, kg, oz, lb or lb_oz
    #[arg(long)]
    pub unit: Option<String>,
    /// For dates without a time of day: 08:00, or "leave out"
    #[arg(long)]
    pub time: Option<String>,
    /// The pup of a sheet that names none
    #[arg(long)]
    pub pup: Option<String>,
    /// A name in the sheet and the pup that it means: "Rd=Red"; "Total=no" leaves it out
    #[arg(long, value_name = "FOUND=PUP")]
    pub name: Vec<String>,
    /// A name in the sheet and the carer that it means
    #[arg(long, value_name = "FOUND=CARER")]
    pub who: Vec<String>,
    /// A column that is not to be read, by its number
    #[arg(long, value_name = "COLUMN")]
    pub leave_out: Vec<usize>,
    /// I have looked at how it reads, and it is right
    #[arg(long)]
    pub yes: bool,
    #[command(flatten)]
    pub out: Out,
}
