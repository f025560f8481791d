// Small helps on the pages of finds; all of them work without this script.

function enhance() {
  for (const form of document.querySelectorAll("form[data-most]")) {
    if (form.dataset.ready) continue;
    form.dataset.ready = "1";
    form.addEventListener("change", () => weigh(form));
  }
}

// Says before the upload, not after it, that the photos are too large together.
function weigh(form) {
  const files = [...form.querySelectorAll('input[type="file"]')].flatMap((i) => [...i.files]);
  const size = files.reduce((sum, f) => sum + f.size, 0);
  const first = form.querySelector('input[type="file"]');
  first.setCustomValidity(size > Number(form.dataset.most) ? form.dataset.large : "");
  first.reportValidity();
}

// A place that knows its region answers for it.
document.addEventListener("change", ({ target }) => {
  const region = target.matches("select[data-place]") && target.form.querySelector("select[data-region]");
  if (region && target.selectedOptions[0].dataset.region) region.value = "";
});

document.addEventListener("trug:shown", enhance);
enhance();
