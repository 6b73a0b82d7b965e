// What this phone keeps in its own database: entries that wait, entries that the server has and the kept
// plan does not know yet, and the plan of each litter.

const SHELF = "whelpward";
const VERSION = 2;
const STORES = { waiting: "id", settled: "id", plans: "litter" };
let opened;

function shelf() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open(SHELF, VERSION);
    asked.onupgradeneeded = () => {
      const db = asked.result;
      for (const [name, keyPath] of Object.entries(STORES)) {
        if (!db.objectStoreNames.contains(name)) db.createObjectStore(name, { keyPath });
      }
    };
    asked.onsuccess = () => {
      // A newer page may need more stores: this one opens again when it needs to.
      asked.result.onversionchange = () => { asked.result.close(); opened = undefined; };
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

async function inStores(names, mode, work) {
  const db = await shelf();
  return new Promise((resolve, reject) => {
    const change = db.transaction(names, mode, mode === "readwrite" ? { durability: "strict" } : {});
    const asked = work(...names.map((name) => change.objectStore(name)));
    // Only when the whole change is on the disk is anything said to be kept.
    change.oncomplete = () => resolve(asked?.result);
    change.onerror = change.onabort = () => reject(change.error);
  });
}

export const keepEntries = (entries) => inStores(["waiting"], "readwrite", (waiting) => { for (const e of entries) waiting.put(e); });
export const dropEntries = (ids) => inStores(["waiting"], "readwrite", (waiting) => { for (const id of ids) waiting.delete(id); });
export const allEntries = () => inStores(["waiting"], "readonly", (waiting) => waiting.getAll());
export const settledEntries = () => inStores(["settled"], "readonly", (settled) => settled.getAll());
export const keptPlan = (litter) => inStores(["plans"], "readonly", (plans) => plans.get(litter));

/** The server has them: they wait no more, and count here until a plan knows them. */
export const settleEntries = (ids) => inStores(["waiting", "settled"], "readwrite", (waiting, settled) => {
  for (const id of ids) {
    waiting.get(id).onsuccess = (event) => {
      if (event.target.result) settled.put(event.target.result);
      waiting.delete(id);
    };
  }
});

/** A plan, with what it knows of the entries of this phone: in one change, so that none is forgotten between. */
export const keepPlan = (plan, known) => inStores(["plans", "settled"], "readwrite", (plans, settled) => {
  plans.put(plan);
  for (const id of known) settled.delete(id);
});

/** Nothing of a litter stays here but the entries that the server does not have yet. */
export const forgetPlans = () => inStores(["plans", "settled"], "readwrite", (plans, settled) => {
  plans.clear();
  settled.clear();
});

export const forgetPlan = (litter) => inStores(["plans", "settled"], "readwrite", (plans, settled) => {
  plans.delete(litter);
  settled.getAll().onsuccess = (event) => {
    for (const e of event.target.result) if (e.fact.litter === litter) settled.delete(e.id);
  };
});
