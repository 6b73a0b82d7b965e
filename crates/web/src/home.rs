//! What the pages share: the household's book, the book of examples, the clock.

use std::collections::{HashMap, VecDeque};
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError, Weak};

use jiff::Timestamp;
use rust_embed::RustEmbed;
use sha2::{Digest as _, Sha256};
use tokio::sync::RwLock;

use whelpward_app::{AppError, Backups, Book, Saved, folder_in};
use whelpward_core::book::FactId;
use whelpward_core::record::FolderFiles;
use whelpward_store::Store;

use crate::access::{Doors, HomeNetwork};
use crate::copies::Copies;
use crate::live::Live;
use crate::organisation::Organisation;
use crate::scale::{Devices, Scale, follow};
use crate::server_clock::ServerClock;

/// Gives the time; tests set it.
pub type Clock = Arc<dyn Fn() -> Timestamp + Send + Sync>;

/// The invented litters, as they lie in the repository.
#[derive(RustEmbed)]
#[folder = "../../examples"]
#[include = "*.toml"]
#[include = "*.csv"]
struct Examples;

/// The invented litters in the order in which they are offered.
pub(crate) const EXAMPLES: &[&str] =
    &["toy-light-pup", "orphaned-large-litter", "working-household", "ordinary-litter"];

/// What every page needs.
pub struct Home {
    pub(crate) book: Arc<Book>,
    examples: RwLock<Option<Arc<Book>>>,
    pub(crate) folder: PathBuf,
    pub(crate) clock: Clock,
    secret: [u8; 32],
    pub(crate) hosts: Vec<String>,
    told: Mutex<Told>,
    pub(crate) scale: Arc<Scale>,
    pub(crate) live: Live,
    pub(crate) copies: Option<Copies>,
    pub(crate) doors: Doors,
    organisation: Weak<Organisation>,
    pub(crate) server_clock: Arc<ServerClock>,
}

/// What was said of the last entries, for the page that is shown after saving.
#[derive(Default)]
struct Told {
    by_fact: HashMap<FactId, Saved>,
    order: VecDeque<FactId>,
}
const TOLD: usize = 200;

impl Home {
    /// Opens what belongs to the household's book in `folder`. `hosts` are the names, with port,
    /// under which the pages may be asked for.
    ///
    /// # Errors
    /// The folder cannot be written.
    pub async fn open(book: Book, folder: PathBuf, clock: Clock, hosts: Vec<String>) -> Result<Self, AppError> {
        let secret = secret_of(&folder)?;
        Self::with_secret(book, folder, clock, hosts, secret).await
    }

    /// The same where the tokens of forms are made with a secret that several server processes share.
    pub(crate) async fn with_secret(
        book: Book,
        folder: PathBuf,
        clock: Clock,
        hosts: Vec<String>,
        secret: [u8; 32],
    ) -> Result<Self, AppError> {
        let examples = if examples_path(&folder).exists() {
            Some(Arc::new(Book::new(Store::open_sqlite(&examples_path(&folder)).await?)))
        } else {
            None
        };
        Ok(Self {
            book: Arc::new(book),
            examples: RwLock::new(examples),
            folder,
            clock,
            secret,
            hosts,
            told: Mutex::default(),
            scale: Arc::default(),
            live: Live::default(),
            copies: None,
            doors: Doors::default(),
            organisation: Weak::new(),
            server_clock: Arc::default(),
        })
    }

    /// This home is the board of an organisation.
    #[must_use]
    pub(crate) fn with_board(self, organisation: Weak<Organisation>) -> Self {
        Self { organisation, ..self }
    }

    /// The organisation of which this home is the board.
    pub(crate) fn organisation(&self) -> Option<Arc<Organisation>> {
        self.organisation.upgrade()
    }

    /// The pages may be asked for over the home network, by people who signed in.
    #[must_use]
    pub fn over_home_network(self, network: HomeNetwork) -> Self {
        Self { doors: Doors { network: Some(network), ..self.doors }, ..self }
    }

    /// The clock of the computer that serves is watched through this.
    #[must_use]
    pub fn with_server_clock(self, server_clock: Arc<ServerClock>) -> Self {
        Self { server_clock, ..self }
    }

    /// Lays copies of the household's book there while the pages are served.
    #[must_use]
    pub fn with_copies(self, to: Backups) -> Self {
        Self { copies: Some(Copies::new(to)), ..self }
    }

    /// Reads the scale at this computer from now on; its weights stand in the weighing round.
    ///
    /// # Errors
    /// No thread can be started for it.
    pub fn follow_scale(&self, devices: Devices) -> std::io::Result<()> {
        follow(&self.scale, devices)
    }

    pub(crate) async fn examples(&self) -> Option<Arc<Book>> {
        self.examples.read().await.clone()
    }

    /// Lays the invented litters out in a book of their own.
    pub(crate) async fn lay_out_examples(&self, now: Timestamp) -> Result<Arc<Book>, AppError> {
        let mut held = self.examples.write().await;
        if let Some(book) = &*held {
            return Ok(Arc::clone(book));
        }
        let book = Book::new(Store::open_sqlite(&examples_path(&self.folder)).await?);
        for name in EXAMPLES {
            folder_in(&book, &example_files(name), now).await?.map_err(|problems| {
                AppError::Said(format!(
                    "{name}: {}",
                    problems.iter().map(ToString::to_string).collect::<Vec<_>>().join("; ")
                ))
            })?;
        }
        let book = Arc::new(book);
        *held = Some(Arc::clone(&book));
        Ok(book)
    }

    /// Removes the book of examples; the household's book is another file.
    pub(crate) async fn remove_examples(&self) -> Result<(), AppError> {
        let mut held = self.examples.write().await;
        if let Some(book) = held.take() {
            book.store.close().await;
        }
        let path = examples_path(&self.folder);
        for end in ["", "-wal", "-shm"] {
            let mut name = path.clone().into_os_string();
            name.push(end);
            match std::fs::remove_file(PathBuf::from(&name)) {
                Err(e) if e.kind() != std::io::ErrorKind::NotFound => {
                    return Err(AppError::Said(format!("{} cannot be removed: {e}", PathBuf::from(name).display())));
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// The token that every form of one browser carries.
    pub(crate) fn token(&self, session: &str) -> String {
        let mut hash = Sha256::new();
        hash.update(self.secret);
        hash.update(session.as_bytes());
        whelpward_store::hex(&hash.finalize()[..16])
    }

    pub(crate) fn tell(&self, saved: Saved) -> Option<FactId> {
        let id = saved.facts.first()?.id;
        let mut told = self.told.lock().unwrap_or_else(PoisonError::into_inner);
        told.by_fact.insert(id, saved);
        told.order.push_back(id);
        if told.order.len() > TOLD
            && let Some(oldest) = told.order.pop_front()
        {
            told.by_fact.remove(&oldest);
        }
        Some(id)
    }

    pub(crate) fn told(&self, id: FactId) -> Option<Saved> {
        self.told.lock().unwrap_or_else(PoisonError::into_inner).by_fact.get(&id).cloned()
    }
}

fn examples_path(folder: &std::path::Path) -> PathBuf {
    folder.join("examples.sqlite")
}

fn example_files(name: &str) -> FolderFiles {
    let file = |end| Examples::get(&format!("{name}/{end}")).map(|f| f.data.into_owned());
    FolderFiles::gather(|end| Ok::<_, std::convert::Infallible>(file(end))).unwrap_or_default()
}

/// Kept over a restart, so that a form on a phone still fits afterwards.
fn secret_of(folder: &std::path::Path) -> Result<[u8; 32], AppError> {
    let path = folder.join("secret");
    if let Ok(bytes) = std::fs::read(&path)
        && let Ok(secret) = <[u8; 32]>::try_from(bytes.as_slice())
    {
        return Ok(secret);
    }
    let failed = |e: std::io::Error| AppError::Said(format!("{} cannot be written: {e}", path.display()));
    let secret: [u8; 32] = rand::random();
    std::fs::create_dir_all(folder).map_err(failed)?;
    let mut options = std::fs::OpenOptions::new();
    options.write(true).create(true).truncate(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    let mut file = options.open(&path).map_err(failed)?;
    std::io::Write::write_all(&mut file, &secret).map_err(failed)?;
    Ok(secret)
}
