// Takes the position of a new place from the device, where the device can tell it.

function offer() {
  const row = document.querySelector("form.placeform [data-here]");
  if (!row || !("geolocation" in navigator)) return;
  row.hidden = false;
  const form = row.closest("form");
  const said = row.querySelector("[data-said]");
  row.querySelector("button").addEventListener("click", () => {
    said.textContent = said.dataset.waits;
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        form.elements.position.value = `${coords.latitude.toFixed(5)}, ${coords.longitude.toFixed(5)}`;
        form.elements.uncertainty_m.value = Math.max(1, Math.round(coords.accuracy));
        if (coords.altitude !== null && !form.elements.altitude_m.value) {
          form.elements.altitude_m.value = Math.round(coords.altitude);
        }
        said.textContent = said.dataset.done;
      },
      () => {
        said.textContent = said.dataset.failed;
      },
      { enableHighAccuracy: true, timeout: 30000 },
    );
  });
}

offer();
document.addEventListener("trug:shown", offer);
