/*
 * index.js - filter and sort the table of an inbox. The table stands there already, worst
 * first; without this script it can be read all the same.
 */
'use strict';
(function () {
    const body = document.querySelector('tbody');
    const sieve = document.querySelector('.sieve');
    if (!body || !sieve) {
        return;
    }
    const [find, show, sort, shown] = ['find', 'show', 'sort', 'shown']
        .map((id) => document.getElementById(id));
    const number = (text) => (text === undefined || text === '' ? NaN : Number(text));
    const rows = Array.from(body.rows, (row, at) => ({
        row, at,
        text: row.textContent.toLowerCase(),
        worst: row.dataset.worst,
        when: number(row.dataset.when),
        length: number(row.dataset.length),
        machine: row.dataset.machine || '',
        name: row.dataset.name || '',
    }));

    /* What is unknown comes last, whichever way. */
    const by = (key, sign) => (a, b) => {
        const none = Number.isNaN(a[key]) - Number.isNaN(b[key]);
        return none || (Number.isNaN(a[key]) ? 0 : sign * (a[key] - b[key])) || a.at - b.at;
    };
    const order = (a, b) => (a < b ? -1 : a > b ? 1 : 0);
    const orders = {
        urgency: (a, b) => a.at - b.at,
        latest: by('when', -1),
        oldest: by('when', 1),
        longest: by('length', -1),
        machine: (a, b) => (a.machine === '') - (b.machine === '') ||
            order(a.machine, b.machine) || by('when', 1)(a, b),
        name: (a, b) => order(a.name, b.name) || a.at - b.at,
    };

    function filter() {
        const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
        const kinds = show.value ? show.value.split(' ') : null;
        let count = 0;
        for (const r of rows) {
            const fits = (!kinds || kinds.includes(r.worst)) &&
                words.every((word) => r.text.includes(word));
            r.row.hidden = !fits;
            count += fits;
        }
        shown.textContent = `${count} of ${rows.length} on this page`;
    }

    function arrange() {
        const sorted = rows.slice().sort(orders[sort.value] || orders.urgency);
        body.append(...sorted.map((r) => r.row));
    }

    find.addEventListener('input', filter);
    show.addEventListener('change', filter);
    sort.addEventListener('change', arrange);
    sieve.hidden = false;
    filter();
    arrange();
}());
