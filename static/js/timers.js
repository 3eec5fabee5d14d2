/* Bench timers. When each ends is kept on this phone only, so that a reload or a sleeping screen loses nothing. */
(function () {
  "use strict";
  const list = document.querySelector("[data-timers]");
  if (!list) return;
  const says = document.querySelector("[data-timer-says]");
  const rows = Array.from(list.querySelectorAll("[data-timer]")).map(row);
  let kept = {};
  try { kept = JSON.parse(localStorage.getItem("timers") || "{}"); } catch (e) { kept = {}; }

  function row(item) {
    const end = document.createElement("span");
    const button = document.createElement("button");
    button.type = "button";
    button.className = "link";
    end.append(document.createElement("b"), " ", button);
    end.firstChild.className = "fig";
    item.append(end);
    const one = { name: item.dataset.timer, minutes: Number(item.dataset.minutes), words: item.firstElementChild.textContent.trim(), figure: end.firstChild, button: button, rang: false };
    button.addEventListener("click", function () {
      if (kept[one.name]) delete kept[one.name];
      else { kept[one.name] = Date.now() + one.minutes * 60000; one.rang = false; }
      keep();
      show();
    });
    return one;
  }

  function keep() {
    try { localStorage.setItem("timers", JSON.stringify(kept)); } catch (e) { /* A full phone: it runs while the page is open. */ }
  }

  function clock(at) {
    return new Date(at).toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  }

  function left(ms) {
    const seconds = Math.ceil(ms / 1000);
    const minutes = Math.floor(seconds / 60);
    const two = String(seconds % 60).padStart(2, "0");
    return minutes >= 60 ? Math.floor(minutes / 60) + ":" + String(minutes % 60).padStart(2, "0") + ":" + two : minutes + ":" + two;
  }

  function ring(one) {
    if (one.rang) return;
    one.rang = true;
    says.textContent = one.words + ": " + list.dataset.done;
    if (navigator.vibrate) navigator.vibrate([400, 200, 400]);
  }

  function show() {
    for (const one of rows) {
      const end = kept[one.name];
      one.button.textContent = end ? list.dataset.stop : list.dataset.start;
      one.button.setAttribute("aria-label", one.button.textContent + ": " + one.words);
      if (!end) { one.figure.textContent = ""; continue; }
      const ms = end - Date.now();
      one.figure.textContent = ms > 0 ? left(ms) + ", " + list.dataset.left + " " + clock(end) : list.dataset.done + " " + clock(end);
      if (ms <= 0) ring(one);
    }
  }

  show();
  setInterval(show, 1000);
})();
