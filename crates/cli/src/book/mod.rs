//! Commands on the book. Each translates words into one action of `whelpward_app`, and the
//! outcome into words or JSON.

mod act;
mod args;
mod did;
mod erase;
mod import;
mod keep;
mod nurse;
mod prompts;
mod show;
mod time;

use std::path::PathBuf;

use clap::Args;
use jiff::Timestamp;
use whelpward_app::access::By;
use whelpward_app::{AppError, Book, LitterInfo, Place, Who, default_place};
use whelpward_store::Store;

pub use args::BookCommand;
pub use show::pretty;

/// Which book, which litter, who.
#[derive(Args, Debug, Clone)]
pub struct Which {
    /// Another book: a file, or postgres://…
    #[arg(long, global = true, env = "WHELPWARD_DATABASE", value_name = "FILE or URL", hide_env_values = true)]
    pub database: Option<String>,
    /// Another folder for the book and its copies
    #[arg(long, global = true, env = "WHELPWARD_DATA", value_name = "DIR")]
    pub data: Option<PathBuf>,
    /// One of several homes in a PostgreSQL (whelpward homes), or board for the board's own people
    #[arg(long, global = true, value_name = "NAME")]
    pub home: Option<String>,
    /// The litter; needed only when more than one is open
    #[arg(long, global = true, value_name = "NAME")]
    pub litter: Option<String>,
    /// Who feeds or weighs
    #[arg(long, global = true, env = "WHELPWARD_CARER", value_name = "NAME")]
    pub carer: Option<String>,
}

/// What a command ends with.
pub enum Failed {
    /// The input cannot be used, or the book cannot be reached.
    Message(String),
    /// A person must decide first; nothing was saved.
    Question(String),
}

impl From<AppError> for Failed {
    fn from(error: AppError) -> Self {
        match error {
            AppError::Ask(ask) => Self::Question(ask.to_string()),
            other => Self::Message(other.to_string()),
        }
    }
}

impl From<whelpward_store::StoreError> for Failed {
    fn from(error: whelpward_store::StoreError) -> Self {
        Self::Message(error.to_string())
    }
}

impl From<String> for Failed {
    fn from(message: String) -> Self {
        Self::Message(message)
    }
}

/// An open book with who uses it.
pub struct Open {
    pub book: Book,
    pub who: Who,
    pub place: Place,
    pub litter_name: Option<String>,
    /// One of several homes.
    pub home: Option<String>,
    pub now: Timestamp,
}

/// The household's book, or that of one of several homes.
pub async fn store_of(which: &Which, place: &Place) -> Result<Store, Failed> {
    match &which.home {
        Some(name) => crate::homes::store(which, name).await,
        None => Ok(Store::open(&place.database).await?),
    }
}

impl Open {
    pub async fn at(which: &Which, now: Timestamp) -> Result<Self, Failed> {
        let place = default_place(which.database.as_deref(), which.data.clone())?;
        let store = store_of(which, &place).await?;
        if let Some(copy) = store.copy_made() {
            eprintln!("The book's layout was renewed; the book as it was is kept in {}.", copy.display());
        }
        let who = Who { carer: which.carer.clone(), device: place.device()? };
        // A clock that runs behind the newest entry would put new entries in the wrong order.
        if let Some(last) = store.last_received().await?
            && last.duration_since(now).as_secs() > 60
        {
            eprintln!(
                "This computer's clock ({now}) is behind the newest entry of the book ({last}). \
                 Set the clock; entries made now carry the wrong time."
            );
        }
        Ok(Self {
            book: Book::new(store),
            who,
            place,
            litter_name: which.litter.clone(),
            home: which.home.clone(),
            now,
        })
    }

    /// Who acts, for the audit.
    pub fn by(&self) -> By {
        let carer = self.who.carer.clone().unwrap_or_default();
        By { device: self.who.device.clone(), carer, address: String::new() }
    }

    pub async fn litter(&self) -> Result<LitterInfo, Failed> {
        Ok(whelpward_app::find(&self.book, self.litter_name.as_deref()).await?)
    }
}

/// Runs one command in a runtime of its own.
pub fn run(which: &Which, command: BookCommand, now: Timestamp) -> Result<String, Failed> {
    block_on(act::run(which, command, now))
}

/// What prints are made from: a litter of the book with all that only a book holds, as known at a time; an
/// invented one at its own.
pub fn source(which: &Which, at: Option<Timestamp>, now: Timestamp) -> Result<whelpward_web::print::Source, Failed> {
    use whelpward_core::supplies::Expected;
    block_on(async {
        let open = Open::at(which, now).await?;
        let loaded = open.book.load(open.litter().await?.id).await?;
        let facts = loaded.facts()?;
        let own = whelpward_app::own_litters(&open.book, None, &Expected::of(facts)).await?;
        let at = at.or(facts.litter.example.as_ref().map(|e| e.at)).unwrap_or(now);
        Ok(whelpward_web::print::Source::new(facts, Some(&loaded), at).with_own(own))
    })
}

/// The facts of a litter of the book, and the time for which an invented one is read.
pub fn facts(which: &Which, now: Timestamp) -> Result<whelpward_core::record::Facts, Failed> {
    block_on(async {
        let open = Open::at(which, now).await?;
        let loaded = open.book.load(open.litter().await?.id).await?;
        Ok(loaded.facts()?.clone())
    })
}

/// What there is to buy for a litter of the book, with what its closed litters say.
pub fn supplies(which: &Which, now: Timestamp) -> Result<whelpward_core::report::supplies::SuppliesRequest, Failed> {
    use whelpward_core::{report::supplies::SuppliesRequest, supplies::Expected};
    block_on(async {
        let open = Open::at(which, now).await?;
        let id = open.litter().await?.id;
        let loaded = open.book.load(id).await?;
        let facts = loaded.facts()?;
        let own = whelpward_app::own_litters(&open.book, Some(id), &Expected::of(facts)).await?;
        Ok(SuppliesRequest::of(facts, &own.all, &own.sizes))
    })
}

/// Today from the book; what is told is written down as advice.
pub fn today(which: &Which, at: Option<Timestamp>, now: Timestamp) -> Result<whelpward_core::report::Today, Failed> {
    block_on(async {
        let open = Open::at(which, now).await?;
        let litter = open.litter().await?;
        let loaded = open.book.load(litter.id).await?;
        let example_at = loaded.facts()?.litter.example.as_ref().map(|e| e.at);
        match at.or(example_at) {
            // A question about another time is not advice that anybody was given.
            Some(at) => Ok(whelpward_core::report::today(loaded.facts()?, at)),
            None => Ok(whelpward_app::today(&open.book, &open.who, litter.id, now).await?),
        }
    })
}

pub fn block_on<T>(work: impl Future<Output = Result<T, Failed>>) -> Result<T, Failed> {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(|e| Failed::Message(format!("the system gives no event loop: {e}")))?
        .block_on(work)
}
