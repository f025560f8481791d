// Shows the button that opens the browser's print window; without this script its own menu prints.

function ready() {
  for (const button of document.querySelectorAll("[data-print]")) {
    button.hidden = false;
    button.onclick = () => window.print();
  }
}

ready();
document.addEventListener("trug:shown", ready);
