// What this phone keeps in its own database: entries that wait, and the plan of each litter.

const SHELF = "whelpward";
let opened;

function shelf() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(SHELF, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore("waiting", { keyPath: "id" });
      asked.result.createObjectStore("plans", { keyPath: "litter" });
    };
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

async function inStore(name, mode, work) {
  const db = await shelf();
  return new Promise((resolve, reject) => {
    const change = db.transaction(name, mode, mode === "readwrite" ? { durability: "strict" } : {});
    const asked = work(change.objectStore(name));
    // Only when the whole change is on the disk is anything said to be kept.
    change.oncomplete = () => resolve(asked?.result);
    change.onerror = change.onabort = () => reject(change.error);
  });
}

export const keepEntries = (entries) => inStore("waiting", "readwrite", (store) => { for (const e of entries) store.put(e); });
export const dropEntries = (ids) => inStore("waiting", "readwrite", (store) => { for (const id of ids) store.delete(id); });
export const allEntries = () => inStore("waiting", "readonly", (store) => store.getAll());
export const keepPlan = (plan) => inStore("plans", "readwrite", (store) => store.put(plan));
export const keptPlan = (litter) => inStore("plans", "readonly", (store) => store.get(litter));
