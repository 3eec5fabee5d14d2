/* The camera's own picture with the last photograph of the series over it at half strength, to line the next one up.
   Where the camera may not be opened (no permission, plain http) the last one stands beside the file field. */
(function () {
  "use strict";
  const form = document.querySelector("form[data-ghost]");
  const devices = navigator.mediaDevices;
  if (!form || !devices || !devices.getUserMedia || typeof DataTransfer === "undefined") return;
  const camera = form.querySelector("[data-camera]");
  const video = camera.querySelector("video");
  const last = form.querySelector("[data-last]");
  const open = form.querySelector("[data-open]");
  const take = form.querySelector("[data-take]");
  const sorry = form.querySelector("[data-no-camera]");
  let stream = null;
  open.hidden = false;

  open.addEventListener("click", async function () {
    try {
      stream = await devices.getUserMedia({ audio: false, video: { facingMode: "environment", width: { ideal: 4096 }, height: { ideal: 3072 } } });
      video.srcObject = stream;
      await video.play();
    } catch {
      stop();
      sorry.hidden = false;
      return;
    }
    camera.hidden = false;
    if (last) last.hidden = true;
    open.hidden = true;
    take.hidden = false;
    form.querySelector("[data-send]").classList.remove("go");
  });

  function stop() {
    if (stream) stream.getTracks().forEach(function (track) { track.stop(); });
    stream = null;
  }

  // The camera's full picture where the browser gives it, else the frame that is seen.
  async function still() {
    const track = stream.getVideoTracks()[0];
    if (window.ImageCapture) {
      try { return await new ImageCapture(track).takePhoto(); } catch { /* the frame that is seen will do */ }
    }
    const canvas = document.createElement("canvas");
    canvas.width = video.videoWidth;
    canvas.height = video.videoHeight;
    canvas.getContext("2d").drawImage(video, 0, 0);
    return new Promise(function (done) { canvas.toBlob(done, "image/jpeg", 0.92); });
  }

  take.addEventListener("click", async function () {
    take.disabled = true;
    const picture = await still();
    const files = new DataTransfer();
    files.items.add(new File([picture], "taken-here." + (picture.type === "image/png" ? "png" : "jpg"), { type: picture.type }));
    form.elements.photos.files = files.files;
    stop();
    form.requestSubmit(form.querySelector("[data-send]"));
  });
  window.addEventListener("pagehide", stop);
})();
