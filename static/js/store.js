/* What this phone keeps: waiting items, drafts, work packets. Everything is written down, and the disk asked to hold it,
   before anything is said or sent. Nothing here needs a secure page: on plain http there is no randomUUID. */
window.reckoner = (function () {
  "use strict";
  const NAMES = { waiting: { keyPath: "n", autoIncrement: true }, drafts: { keyPath: "key" }, packets: { keyPath: "key" } };
  let opening = null;

  function open() {
    if (opening) return opening;
    opening = new Promise(function (resolve, reject) {
      if (!window.indexedDB) return reject(new Error("no store"));
      const request = indexedDB.open("reckoner", 1);
      request.onupgradeneeded = function () {
        Object.keys(NAMES).forEach(function (name) { request.result.createObjectStore(name, NAMES[name]); });
      };
      request.onsuccess = function () {
        // A newer page in another tab must not wait for this one.
        request.result.onversionchange = function () { request.result.close(); opening = null; };
        request.result.onclose = function () { opening = null; };
        resolve(request.result);
      };
      request.onerror = function () { opening = null; reject(request.error); };
    });
    return opening;
  }

  // Resolves when the transaction is complete, never at the request: only then is the row on the disk.
  async function run(name, mode, work) {
    const database = await open();
    return new Promise(function (resolve, reject) {
      const transaction = database.transaction(name, mode, { durability: "strict" });
      let request = null;
      transaction.oncomplete = function () { resolve(request && request.result); };
      transaction.onabort = transaction.onerror = function () { reject(transaction.error || new Error("not kept")); };
      request = work(transaction.objectStore(name));
    });
  }

  function newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 15) | 64;
    bytes[8] = (bytes[8] & 63) | 128;
    const hex = Array.from(bytes, function (byte) { return byte.toString(16).padStart(2, "0"); }).join("");
    return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
  }

  return {
    newId: newId,
    all: function (name) { return run(name, "readonly", function (store) { return store.getAll(); }); },
    get: function (name, key) { return run(name, "readonly", function (store) { return store.get(key); }); },
    put: function (name, row) { return run(name, "readwrite", function (store) { return store.put(row); }); },
    drop: function (name, key) { return run(name, "readwrite", function (store) { return store.delete(key); }); },
  };
})();
