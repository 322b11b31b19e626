// Hands what waits on this phone under an earlier address over to the house at its new one.

import * as store from '/store.js';
import {Outbox, ask} from '/sending.js';

const by = id => document.getElementById(id);
const tell = text => { by('told').textContent = text; };

// Only a house on a network of one's own, and only by its certificate: anything else would be told
// the phone's secret.
function isOwn(origin) {
  const host = new URL(origin).hostname;
  return /^(10|127)\.\d+\.\d+\.\d+$|^192\.168\.\d+\.\d+$|^169\.254\.\d+\.\d+$|^172\.(1[6-9]|2\d|3[01])\.\d+\.\d+$|^[a-z0-9-]+\.local$/.test(host);
}

function originOf(text) {
  const plain = text.trim().replace(/^(https?:\/\/)?/i, 'https://');
  try {
    const found = new URL(plain);
    return found.port ? found.origin : new URL('https://' + found.hostname + ':' + (location.port || 443)).origin;
  } catch (fault) {
    return null;
  }
}

async function hand(origin) {
  const secret = await store.setting('secret');
  if (!origin || !isOwn(origin)) {
    tell('That is no address of a house on this network.');
    return;
  }
  if (!secret) {
    tell('This phone was not paired under this address.');
    return;
  }
  tell('Sending …');
  let why = '';
  const outbox = new Outbox(origin, news => {
    if (news.kind === 'far') why = 'The house is not in reach there.';
    if (news.kind === 'unpaired') why = 'The house there does not know this phone any more.';
    if (news.kind === 'busy') why = news.why || why;
    if (news.kind === 'clock') {
      why = 'The clocks of the phone and the house differ; the house’s is gone by.';
      outbox.chooseClock('house', news.offset).then(() => settle());
    }
  });
  await outbox.send();
  await settle();

  async function settle() {
    const left = (await store.allNotes()).filter(note => note.state === 'waiting').length;
    if (left) {
      tell(why + ' ' + left + ' waiting; they are kept.');
      return;
    }
    const answer = await ask(origin, '/ticket', secret, {method: 'POST'}).catch(() => null);
    const told = answer && answer.status === 200 ? await answer.json() : {};
    tell('All of it is in the house.');
    location.href = origin + '/' + (told.ticket ? '#ticket=' + encodeURIComponent(told.ticket) : '');
  }
}

async function main() {
  await store.recoverRecordings();
  const waiting = (await store.allNotes()).filter(note => note.state === 'waiting').length;
  tell(waiting ? waiting + ' waiting on this phone.' : 'Nothing waits on this phone.');
  by('to-form').onsubmit = event => {
    event.preventDefault();
    hand(originOf(by('to').value));
  };
  const to = new URLSearchParams(location.hash.slice(1)).get('to');
  if (to) {
    by('to').value = to;
    await hand(originOf(to));
  }
}

main();
