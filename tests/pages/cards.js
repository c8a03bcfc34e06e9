// Every text and line of a card that is not inside it, and every two cards that overlap.
() => {
  const SLACK_PX = 1;
  const found = [];
  const cards = [...document.querySelectorAll("article.card")];
  const boxes = cards.map(card => card.getBoundingClientRect());
  const named = card => card.querySelector("h3").textContent.slice(0, 40);
  const isInside = (inner, outer) =>
    inner.left >= outer.left - SLACK_PX && inner.right <= outer.right + SLACK_PX &&
    inner.top >= outer.top - SLACK_PX && inner.bottom <= outer.bottom + SLACK_PX;
  cards.forEach((card, place) => {
    const words = document.createTreeWalker(card, NodeFilter.SHOW_TEXT);
    while (words.nextNode()) {
      if (!words.currentNode.data.trim()) continue;
      const range = document.createRange();
      range.selectNodeContents(words.currentNode);
      for (const box of range.getClientRects())
        if (!isInside(box, boxes[place]))
          found.push(`"${words.currentNode.data.trim().slice(0, 40)}" leaves "${named(card)}"`);
    }
    for (const part of card.querySelectorAll("*"))
      if (!isInside(part.getBoundingClientRect(), boxes[place]))
        found.push(`${part.localName} leaves "${named(card)}"`);
    for (let other = Math.max(0, place - 8); other < place; other++) {
      const [one, two] = [boxes[place], boxes[other]];
      const across = Math.min(one.right, two.right) - Math.max(one.left, two.left);
      const down = Math.min(one.bottom, two.bottom) - Math.max(one.top, two.top);
      if (across > SLACK_PX && down > SLACK_PX)
        found.push(`"${named(card)}" lies on "${named(cards[other])}"`);
    }
  });
  return found;
}
