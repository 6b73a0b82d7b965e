//! Why a page cannot be shown, in words that say what is safe and what to do.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use whelpward_app::AppError;

use crate::layout::bare_page;
use crate::words::{say, tell};

/// One reason, one status, one text.
#[derive(Debug, thiserror::Error)]
pub enum Fault {
    #[error("not found")]
    NotFound,
    #[error("asked for under another name")]
    WrongHost,
    #[error("sent from another page")]
    WrongOrigin,
    #[error("without the token of this browser")]
    WrongToken,
    #[error("the form does not read")]
    BadForm,
    #[error("a computation ended early")]
    NoAnswer,
    #[error(transparent)]
    App(#[from] AppError),
}

impl IntoResponse for Fault {
    fn into_response(self) -> Response {
        let (status, title, text) = match self {
            Self::NotFound => (StatusCode::NOT_FOUND, say("fault-not-found"), say("fault-not-found-text")),
            Self::WrongHost => (StatusCode::MISDIRECTED_REQUEST, say("fault-refused"), say("fault-host-text")),
            Self::WrongOrigin => (StatusCode::FORBIDDEN, say("fault-refused"), say("fault-origin-text")),
            Self::WrongToken => (StatusCode::FORBIDDEN, say("fault-refused"), say("fault-token-text")),
            Self::BadForm => (StatusCode::BAD_REQUEST, say("fault-refused"), say("fault-form-text")),
            Self::NoAnswer => (StatusCode::INTERNAL_SERVER_ERROR, say("fault-no-answer"), say("fault-no-answer-text")),
            Self::App(AppError::Store(error)) => {
                // What the database said is for the person at the computer, not for the page.
                eprintln!("the book: {error}");
                let text = tell("fault-book-text", &[("why", error.to_string().into())]);
                (StatusCode::INTERNAL_SERVER_ERROR, say("fault-not-saved"), text)
            }
            Self::App(error) => {
                (StatusCode::UNPROCESSABLE_ENTITY, say("fault-not-saved"), error.to_string().replace('\n', "; "))
            }
        };
        (status, bare_page(&title, &text)).into_response()
    }
}
