/*
 * index.js - filter and sort the table of an inbox. The table stands there already, worst
 * first; without this script it can be read all the same.
 *
 * A long list has several pages. As soon as somebody filters or sorts, the rows of the other
 * pages are brought by scripts beside them (index-rows-2.js ...): the one kind of file that a
 * page opened from a disk may read.
 */
'use strict';
(function () {
    const SHOWN = 1000; /* rows at a time, as many as a page has */
    const PAGES = 50; /* that are looked through: beyond, a browser runs out of memory */
    const body = document.querySelector('tbody');
    const sieve = document.querySelector('.sieve');
    if (!body || !sieve) {
        return;
    }
    const [find, show, sort, shown] = ['find', 'show', 'sort', 'shown']
        .map((id) => document.getElementById(id));
    const { list, edition } = sieve.dataset;
    const own = Number(sieve.dataset.page);
    const pages = Number(sieve.dataset.pages);
    const number = (text) => (text === undefined || text === '' ? NaN : Number(text));

    /* What filter and sort go by; `at` is the place in the whole list. */
    const facts = (found, page) => Array.from(found, (row, at) => ({
        row,
        at: page * SHOWN + at,
        text: row.textContent.toLowerCase(),
        worst: row.dataset.worst,
        when: number(row.dataset.when),
        length: number(row.dataset.length),
        machine: row.dataset.machine || '',
        name: row.dataset.name || '',
    }));
    const here = facts(body.rows, own);
    let rows = here;
    let others = pages > 1 ? 'unread' : 'read';

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

    function notes(count) {
        const said = [`${count} of ${rows.length}`];
        if (count > SHOWN) {
            said.push(`the first ${SHOWN} are shown`);
        }
        if (others === 'being read') {
            said.push('other pages are being read');
        } else if (others === 'missing') {
            said.push('other pages could not be read: load this page again');
        } else if (pages > PAGES) {
            said.push(`of the first ${PAGES} pages`);
        }
        return said.join('; ');
    }

    function arrange() {
        const words = find.value.toLowerCase().split(/\s+/).filter(Boolean);
        const kinds = show.value ? show.value.split(' ') : null;
        const asked = words.length > 0 || kinds || sort.value !== 'urgency';
        const fitting = (asked ? rows : here).filter((r) =>
            (!kinds || kinds.includes(r.worst)) && words.every((word) => r.text.includes(word)));
        fitting.sort(orders[sort.value] || orders.urgency);
        body.replaceChildren(...fitting.slice(0, SHOWN).map((r) => r.row));
        shown.textContent = asked || pages === 1 ? notes(fitting.length) :
            `${here.length} on this page`;
        if (asked && others === 'unread') {
            bring();
        }
    }

    /* The rows of another page, which must be of the same run. */
    const load = (page) => new Promise((resolve, reject) => {
        const script = document.createElement('script');
        let html = null;
        window.drawbarRows = (made, of, text) => {
            html = made === edition && of === page ? text : null;
        };
        script.onload = () => (html === null ? reject() : resolve(html));
        script.onerror = reject;
        script.src = `${list}-rows-${page}.js`;
        document.head.append(script);
    });

    /* It is the HTML that stands in that page, made in the same way as that of this one. */
    function take(html, page) {
        const holder = document.createElement('template');
        holder.innerHTML = html;
        rows = rows.concat(facts(holder.content.querySelectorAll('tr'), page));
    }

    async function bring() {
        others = 'being read';
        try {
            for (let page = 1; page <= Math.min(pages, PAGES); page++) {
                if (page !== own) {
                    take(await load(page), page);
                    arrange();
                }
            }
            others = 'read';
        } catch (failure) {
            others = 'missing';
        }
        arrange();
    }

    find.addEventListener('input', arrange);
    show.addEventListener('change', arrange);
    sort.addEventListener('change', arrange);
    sieve.hidden = false;
    arrange();
}());
