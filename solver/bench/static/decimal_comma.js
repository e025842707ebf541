// A decimal comma, typed or pasted into a field of one number, counts as a point; the browser would leave it out, and 0,2
// become 2 without a word.

export function takeDecimalCommas() {
  document.addEventListener("beforeinput", (event) => {
    if (!event.target.matches?.('input[type="number"]')) return;
    const typed = event.data ?? event.dataTransfer?.getData("text/plain");
    if (!typed?.includes(",")) return;
    event.preventDefault();
    // the only way that leaves caret and undo of a number field to the browser
    document.execCommand("insertText", false, typed.replace(",", "."));
  });
}
