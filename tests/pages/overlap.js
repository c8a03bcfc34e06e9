// Every two labels of a picture that lie on each other, as sentences.
() => {
  const SLACK_PX = 2; // A line of text is a little higher than its letters.
  const found = [];
  for (const picture of document.querySelectorAll("svg")) {
    const labels = [...picture.querySelectorAll("text")]
      .filter(label => label.checkVisibility({visibilityProperty: true}))
      .map(label => ({words: label.textContent.trim(), box: label.getBoundingClientRect()}));
    labels.forEach(({words, box}, place) => {
      for (const other of labels.slice(place + 1)) {
        const across = Math.min(box.right, other.box.right) - Math.max(box.left, other.box.left);
        const down = Math.min(box.bottom, other.box.bottom) - Math.max(box.top, other.box.top);
        if (across > SLACK_PX && down > SLACK_PX)
          found.push(`"${words}" and "${other.words}" overlap`);
      }
    });
  }
  return found;
}
