/* Bench leaves a work packet on this phone: the next strakes, their stations and what is wanted there, so that recording
   goes on after the signal is gone. It belongs to who is signed in, ends after 30 days, and is wiped at sign-out. */
(function (reckoner) {
  "use strict";
  const place = document.querySelector("[data-packet]");
  if (!place || !reckoner.owner || !window.indexedDB) return;
  async function renew() {
    const answer = await fetch(place.dataset.packet, { headers: { Accept: "application/json" }, credentials: "same-origin", cache: "no-store", redirect: "error" });
    if (!answer.ok) return;
    const packet = await answer.json();
    if (packet.owner !== reckoner.owner) return;
    const others = (await reckoner.all("packets")).filter(function (one) { return one.owner !== packet.owner; });
    await Promise.all(others.map(function (one) { return reckoner.drop("packets", one.key); }));
    await reckoner.put("packets", Object.assign(packet, { key: packet.owner + " " + packet.build, madeAt: Date.now() }));
    document.documentElement.dataset.packet = "kept";
  }
  renew().catch(function () { /* no signal: the last packet stays */ });
})(window.reckoner);
