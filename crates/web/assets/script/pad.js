// The number pad, what its button says, and what was typed before the phone was locked.

const GHOST_MS = 70; // a wet finger's second touch of the same key

const DRAFT = "draft ";

/** Keys of a pad by its kind: whole numbers, one decimal mark, or half degrees in one tap. */
const EXTRA = { whole: "C", decimal: ".", halves: ".5" };

export function pads() {
  for (const pad of document.querySelectorAll("[data-pad]:not(.ready)")) {
    const form = pad.closest("form");
    const field = form.querySelector("[data-number]");
    if (!field) continue;
    const kind = pad.dataset.pad;
    // The screen keyboard stays away; a real keyboard still types.
    field.inputMode = "none";
    const last = EXTRA[kind] ?? "C";
    const keys = ["1", "2", "3", "4", "5", "6", "7", "8", "9", last, "0", "⌫"];
    let touched = { key: "", at: -Infinity };
    for (const key of keys) {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = key;
      button.dataset.key = key;
      button.setAttribute("aria-label", spoken(pad, key));
      // A click comes when the finger leaves the key inside it; sliding out cancels.
      button.addEventListener("click", (event) => {
        if (touched.key === key && event.timeStamp - touched.at < GHOST_MS) return;
        touched = { key, at: event.timeStamp };
        field.value = typed(field.value, key);
        field.dispatchEvent(new Event("input", { bubbles: true }));
      });
      pad.append(button);
    }
    pad.classList.add("ready");
    label(form, field);
    field.addEventListener("input", () => label(form, field));
    if (!pad.closest("details")) field.focus({ preventScroll: true });
  }
}

/** The name of a key for a screen reader: its page carries the words. */
function spoken(pad, key) {
  return { C: pad.dataset.clear, "⌫": pad.dataset.remove, ".": pad.dataset.point, ".5": pad.dataset.half }[key] ?? key;
}

/** The text after a key. */
export function typed(text, key) {
  if (key === "⌫") return text.slice(0, -1);
  if (key === "C") return "";
  if (key.startsWith(".") && /[.,]/.test(text)) return text;
  if (key.startsWith(".") && text === "") return key === "." ? "0." : text;
  return text.length < 8 ? text + key : text;
}

/** The button says the number, its unit and the pup. */
export function label(form, field) {
  const button = form.querySelector("[data-save]");
  if (!button) return;
  button.dataset.plain ??= button.textContent;
  const pounds = form.elements.pounds?.value;
  const value = pounds ? `${pounds} lb ${field.value}` : field.value;
  button.textContent = field.value === "" ? button.dataset.plain : button.dataset.save.replace("{}", value);
}

/** What was typed is still there when the phone was locked or the page reloaded. */
export function drafts() {
  for (const form of document.querySelectorAll("form[data-outbox]")) {
    const pup = form.elements.pup?.value ?? "";
    const what = form.elements.what?.value ?? "";
    for (const field of form.querySelectorAll("input[type=text]")) {
      if (field.dataset.draft) continue;
      const key = field.dataset.draft = `${DRAFT}${location.pathname} ${pup} ${what} ${field.name}`;
      try {
        const kept = sessionStorage.getItem(key);
        if (field.value === "" && kept) {
          field.value = kept;
          const fold = field.closest("details");
          if (fold) fold.open = true;
          field.dispatchEvent(new Event("input", { bubbles: true }));
        }
        field.addEventListener("input", () => sessionStorage.setItem(key, field.value));
      } catch {
        // Without storage a draft lives as long as its page.
      }
    }
  }
}

/** What was typed is saved, or on its way: its draft is not needed any more. */
export function endDraft(form) {
  for (const field of form.querySelectorAll("[data-draft]")) {
    try {
      sessionStorage.removeItem(field.dataset.draft);
    } catch {
      // There is none.
    }
  }
}

/** Nothing that was typed in this tab is left. */
export function forgetDrafts() {
  try {
    for (const key of Object.keys(sessionStorage)) if (key.startsWith(DRAFT)) sessionStorage.removeItem(key);
  } catch {
    // There is none.
  }
}
