// The acts that wait in this browser: each is written down before anything is sent, and taken by one tab at a time.
"use strict";

const LEASE = 5000; // an act that a tab is sending, renewed while it does [ms]

const { store, change, drop, take } = (() => {
  // Transactions run one after the other, in all tabs of this browser.
  const database = new Promise((done, failed) => {
    const asked = indexedDB.open("witness-mark", 1);
    asked.onupgradeneeded = () =>
      asked.result.createObjectStore("acts", { keyPath: "id", autoIncrement: true }).createIndex(KEY, "key", { unique: true });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  database.catch(() => {});

  // Run `work` on the list of acts in one transaction; what it returns. Only a new act has to be on the disk
  // before anything else: what is lost of the others makes a tab send again, under the same key.
  async function store(work, durability = "relaxed") {
    const transaction = (await database).transaction("acts", work ? "readwrite" : "readonly", { durability });
    const acts = transaction.objectStore("acts");
    return new Promise((done, failed) => {
      let result;
      const all = acts.getAll();
      all.onsuccess = () => { result = work ? work(all.result, acts) : all.result; };
      transaction.oncomplete = () => done(result);
      transaction.onabort = () => failed(transaction.error);
    });
  }
  const change = (id, changes) => store((all, acts) => {
    const act = all.find((one) => one.id === id);
    if (act) acts.put(Object.assign(act, changes));
  });
  const drop = (id) => store((_, acts) => { acts.delete(id); });

  // The next act of a lane, taken for this tab. In order: one that has to wait holds back those behind it.
  const take = (lane) => store((all, acts) => {
    const act = all.find((one) => one.lane === lane && !one.problem);
    if (!act || act.lease > Date.now() || act.next > Date.now()) return null;
    acts.put(Object.assign(act, { lease: Date.now() + LEASE }));
    return act;
  });
  return { store, change, drop, take };
})();
