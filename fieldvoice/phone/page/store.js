// What the phone keeps: notes until the house has them, its secret, and the last answers.
// Sound is stored as bytes, a second at a time: what was said is there if the phone dies.

const NAME = 'fieldvoice', VERSION = 1, MOST_ANSWERS = 40;
let opened = null;

function database() {
  if (!opened) {
    opened = new Promise((resolve, reject) => {
      const asked = indexedDB.open(NAME, VERSION);
      asked.onupgradeneeded = () => {
        const made = asked.result;
        made.createObjectStore('settings');
        made.createObjectStore('notes', {keyPath: 'n', autoIncrement: true});
        made.createObjectStore('chunks', {autoIncrement: true}).createIndex('note', 'note');
        made.createObjectStore('answers', {autoIncrement: true});
      };
      asked.onsuccess = () => {
        asked.result.onversionchange = () => asked.result.close();
        asked.result.onclose = () => { opened = null; };
        resolve(asked.result);
      };
      asked.onerror = () => { opened = null; reject(asked.error); };
    });
  }
  return opened;
}

// Does work with stores in one transaction; it is on the disk when the promise is kept.
async function within(names, mode, work) {
  const found = await database();
  return new Promise((resolve, reject) => {
    let deal;
    try {
      deal = found.transaction(names, mode, {durability: 'strict'});
    } catch (fault) {
      opened = null;  // the browser shut the database in between
      reject(fault);
      return;
    }
    const got = {value: undefined};
    deal.oncomplete = () => resolve(got.value);
    deal.onabort = deal.onerror = () => reject(deal.error || new Error('not stored'));
    work(deal, value => { got.value = value; });
  });
}

function reading(store, ask) {
  return within([store], 'readonly', (deal, keep) => {
    const asked = ask(deal.objectStore(store));
    asked.onsuccess = () => keep(asked.result);
  });
}

export const setting = key => reading('settings', store => store.get(key));
export const allNotes = () => reading('notes', store => store.getAll());
export const allAnswers = () => reading('answers', store => store.getAll());

export function set(key, value) {
  return within(['settings'], 'readwrite', deal => {
    if (value === undefined) deal.objectStore('settings').delete(key);
    else deal.objectStore('settings').put(value, key);
  });
}

export function newNumber() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return Array.from(bytes, one => one.toString(16).padStart(2, '0')).join('');
}

// Adds a note and returns it with its place in the order.
export async function addNote(note) {
  const n = await within(['notes'], 'readwrite', (deal, keep) => {
    const asked = deal.objectStore('notes').add(note);
    asked.onsuccess = () => keep(asked.result);
  });
  return Object.assign({n}, note);
}

export function putNote(note) {
  return within(['notes'], 'readwrite', deal => { deal.objectStore('notes').put(note); });
}

export function addChunk(n, data) {
  return within(['chunks'], 'readwrite', deal => {
    deal.objectStore('chunks').add({note: n, data});
  });
}

export async function soundOf(n) {
  const chunks = await reading('chunks', store => store.index('note').getAll(n));
  return new Blob(chunks.map(one => one.data));
}

// The house has it: the note goes and its answer comes, or neither.
export function taken(n, answer) {
  return within(['notes', 'chunks', 'answers'], 'readwrite', deal => {
    forget(deal, n);
    const answers = deal.objectStore('answers');
    if (answer) answers.add(answer);
    const keys = answers.getAllKeys();
    keys.onsuccess = () => keys.result.slice(0, -MOST_ANSWERS).forEach(key => answers.delete(key));
  });
}

export function drop(n) {
  return within(['notes', 'chunks'], 'readwrite', deal => forget(deal, n));
}

function forget(deal, n) {
  deal.objectStore('notes').delete(n);
  const keys = deal.objectStore('chunks').index('note').getAllKeys(n);
  keys.onsuccess = () => keys.result.forEach(key => deal.objectStore('chunks').delete(key));
}

// Recordings that the phone died over: what there is of them waits to be sent.
export async function recoverRecordings() {
  for (const note of await allNotes()) {
    if (note.state !== 'recording') continue;
    const sound = await soundOf(note.n);
    if (sound.size) await putNote(Object.assign(note, {state: 'waiting', cut: true}));
    else await drop(note.n);
  }
}
