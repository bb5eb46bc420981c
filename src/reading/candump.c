/* candump.c - see candump.h. The forms are those of the public SocketCAN user-space text formats. */
#include "reading/candump.h"

#include <string.h>

#include "reading/can_packet.h"
#include "reading/digits.h"
#include "reading/stamp.h"

/* linux/can.h: flag bits above the 29 identifier bits. */
#define ID_FLAG_ERROR 0x20000000u
#define ID_FLAG_ABOVE 0xC0000000u

static bool is_blank(char c)
{
    return c == ' ' || c == '\t';
}

static void skip_blanks(struct text *t)
{
    while (t->at < t->end && is_blank(*t->at))
        t->at++;
}

static bool ends(const struct text *t)
{
    return t->at >= t->end;
}

static char peek(const struct text *t)
{
    return ends(t) ? '\0' : *t->at;
}

/* The next token up to a blank; empty at the end. */
static struct text take_token(struct text *t)
{
    struct text token;

    skip_blanks(t);
    token.at = t->at;
    while (!ends(t) && !is_blank(*t->at))
        t->at++;
    token.end = t->at;
    return token;
}

static bool token_is(const struct text *token, const char *word)
{
    size_t length = strlen(word);
    return (size_t)(token->end - token->at) == length && memcmp(token->at, word, length) == 0;
}

static bool reject(struct candump_line *out, enum dbr_rejection why)
{
    out->kind = LINE_REJECTED;
    out->why = why;
    return false;
}

/* Two hexadecimal digits. */
static bool take_byte(struct text *t, uint8_t *byte)
{
    if (t->end - t->at < 2)
        return false;
    int high = digits_hex_value(t->at[0]), low = digits_hex_value(t->at[1]);
    if (high < 0 || low < 0)
        return false;
    *byte = (uint8_t)(high << 4 | low);
    t->at += 2;
    return true;
}

/* 3 digits: 11 bits. 8 digits: 29 bits, or an error frame where its flag is set. */
static bool read_id(struct candump_line *out, struct text digits)
{
    ptrdiff_t count = digits.end - digits.at;
    uint32_t id = 0;

    if (count != 3 && count != 8)
        return reject(out, DBR_REJECTION_BAD_ID);
    for (; digits.at < digits.end; digits.at++) {
        int digit = digits_hex_value(*digits.at);
        if (digit < 0)
            return reject(out, DBR_REJECTION_BAD_ID);
        id = id << 4 | (uint32_t)digit;
    }
    if (count == 3 ? id > DBR_STANDARD_ID_MAX : (id & ID_FLAG_ABOVE) != 0)
        return reject(out, DBR_REJECTION_ID_RANGE);
    if (id & ID_FLAG_ERROR)
        out->frame.flags |= DBR_FRAME_ERROR;
    else if (count == 8)
        out->frame.flags |= DBR_FRAME_EXTENDED;
    out->frame.id = id & DBR_EXTENDED_ID_MAX;
    return true;
}

static bool read_stamp(struct candump_line *out, struct text *t)
{
    if (peek(t) != '(')
        return true;
    t->at++;
    struct text date = *t;
    if (stamp_seconds(t, &out->frame.at_ns) && peek(t) == ')') {
        out->stamp = STAMP_SECONDS;
    } else if (stamp_date(&date, &out->frame.at_ns) && peek(&date) == ')') {
        out->stamp = STAMP_DATE;
        *t = date;
    } else {
        return reject(out, DBR_REJECTION_BAD_STAMP);
    }
    t->at++;
    return true;
}

/* Length 0..8, or in FD one of the lengths that FD has. */
static bool accept_length(struct candump_line *out, size_t length)
{
    if (!(out->frame.flags & DBR_FRAME_FD) && length > DBR_CLASSIC_DATA_MAX)
        return reject(out, DBR_REJECTION_BAD_LENGTH);
    if (!can_length_valid(length))
        return reject(out, DBR_REJECTION_FD_LENGTH);
    out->frame.length = (uint8_t)length;
    return true;
}

/* Data of the log form: bytes, with dots between them where the writer likes. */
static bool read_log_data(struct candump_line *out, struct text *t)
{
    size_t length = 0;

    while (!ends(t) && *t->at != '_' && !is_blank(*t->at)) {
        if (length > 0 && *t->at == '.')
            t->at++;
        if (length >= DBR_FD_DATA_MAX)
            return reject(out, DBR_REJECTION_BAD_LENGTH);
        if (!take_byte(t, &out->frame.data[length]))
            return reject(out, DBR_REJECTION_BAD_DATA);
        length++;
    }
    return accept_length(out, length);
}

/* "_9" .. "_F" behind 8 bytes: the length code as it was on the wire. */
static bool read_raw_code(struct candump_line *out, struct text *t)
{
    if (peek(t) != '_')
        return true;
    t->at++;
    int code = ends(t) ? -1 : digits_hex_value(*t->at++);
    if (code <= (int)DBR_CLASSIC_DATA_MAX || out->frame.length != DBR_CLASSIC_DATA_MAX)
        return reject(out, DBR_REJECTION_BAD_LENGTH);
    out->frame.raw_dlc = (uint8_t)code;
    return true;
}

static bool read_log_remote(struct candump_line *out, struct text *t)
{
    t->at++;
    out->frame.flags |= DBR_FRAME_REMOTE;
    if (ends(t) || *t->at == '_' || is_blank(*t->at))
        return read_raw_code(out, t);
    int length = digits_hex_value(*t->at++);
    if (length < 0 || length > (int)DBR_CLASSIC_DATA_MAX)
        return reject(out, DBR_REJECTION_BAD_LENGTH);
    out->frame.length = (uint8_t)length;
    return read_raw_code(out, t);
}

/* Flag digit of "##": 1 bit-rate switch, 2 error state, 4 FD (which "##" says already). */
static bool read_fd_flags(struct candump_line *out, struct text *t)
{
    int flags = ends(t) ? -1 : digits_hex_value(*t->at++);

    if (flags < 0)
        return reject(out, DBR_REJECTION_BAD_DATA);
    out->frame.flags |= DBR_FRAME_FD;
    if (flags & 1)
        out->frame.flags |= DBR_FRAME_BRS;
    if (flags & 2)
        out->frame.flags |= DBR_FRAME_ESI;
    return true;
}

/* A last word "R" or "T" says which way the frame went; anything else does not belong here. */
static bool read_direction(struct candump_line *out, struct text *t)
{
    struct text word = take_token(t);

    if (token_is(&word, "T"))
        out->frame.flags |= DBR_FRAME_SENT;
    else if (word.at != word.end && !token_is(&word, "R"))
        return reject(out, DBR_REJECTION_BAD_DATA);
    skip_blanks(t);
    return ends(t) ? true : reject(out, DBR_REJECTION_BAD_DATA);
}

/* What stands behind the identifier's '#'. */
static bool read_log_payload(struct candump_line *out, struct text *t)
{
    if (peek(t) == 'R' || peek(t) == 'r')
        return read_log_remote(out, t) && read_direction(out, t);
    if (peek(t) == '#') {
        t->at++;
        if (!read_fd_flags(out, t))
            return false;
    }
    return read_log_data(out, t) && read_raw_code(out, t) && read_direction(out, t);
}

/* "[8]", "[08]" (FD), "[0008]" (CAN XL), "{B}" (length code 9..15 with 8 bytes). */
static bool read_bracket(struct candump_line *out, struct text *t, size_t *length)
{
    char closing = peek(t) == '{' ? '}' : ']';
    struct text digits = {t->at + 1, t->at + 1};

    while (digits.end < t->end && *digits.end != closing)
        digits.end++;
    if (digits.end == t->end)
        return reject(out, DBR_REJECTION_BAD_LENGTH);
    t->at = digits.end + 1;
    ptrdiff_t count = digits.end - digits.at;
    if (count == 4)
        return reject(out, DBR_REJECTION_CAN_XL);
    if (closing == '}') {
        int code = count == 1 ? digits_hex_value(*digits.at) : -1;
        if (code < 0)
            return reject(out, DBR_REJECTION_BAD_LENGTH);
        *length = code > (int)DBR_CLASSIC_DATA_MAX ? DBR_CLASSIC_DATA_MAX : (size_t)code;
        out->frame.raw_dlc = code > (int)DBR_CLASSIC_DATA_MAX ? (uint8_t)code : 0;
        return true;
    }
    if (count != 1 && count != 2)
        return reject(out, DBR_REJECTION_BAD_LENGTH);
    if (count == 2)
        out->frame.flags |= DBR_FRAME_FD;
    *length = 0;
    for (; digits.at < digits.end; digits.at++) {
        if (*digits.at < '0' || *digits.at > '9')
            return reject(out, DBR_REJECTION_BAD_LENGTH);
        *length = *length * 10 + (size_t)(*digits.at - '0');
    }
    return true;
}

/* With a back-tick between them the bytes stand last first. */
static void reverse_bytes(struct dbr_frame *frame)
{
    for (size_t i = 0, j = frame->length; i + 1 < j; i++) {
        uint8_t byte = frame->data[i];
        frame->data[i] = frame->data[--j];
        frame->data[j] = byte;
    }
}

static bool read_console_data(struct candump_line *out, struct text *t, size_t length)
{
    bool swapped = false;

    if (!accept_length(out, length))
        return false;
    for (size_t i = 0; i < length; i++) {
        if (i > 0 && peek(t) == '`') {
            swapped = true;
            t->at++;
        }
        skip_blanks(t);
        if (!take_byte(t, &out->frame.data[i]))
            return reject(out, ends(t) ? DBR_REJECTION_BAD_LENGTH : DBR_REJECTION_BAD_DATA);
    }
    if (swapped)
        reverse_bytes(&out->frame);
    return true;
}

/* Behind the data: nothing, the word for an error frame, or the bytes once more as text. */
static bool read_console_tail(struct candump_line *out, struct text *t)
{
    struct text word = take_token(t);

    if (token_is(&word, "ERRORFRAME")) {
        if (!(out->frame.flags & DBR_FRAME_ERROR))
            return reject(out, DBR_REJECTION_FLAGS);
        return true;
    }
    if (word.at == word.end || *word.at == '\'' || *word.at == '`')
        return true;
    uint8_t byte;
    bool more_data = word.end - word.at == 2 && take_byte(&word, &byte);
    return reject(out, more_data ? DBR_REJECTION_BAD_LENGTH : DBR_REJECTION_BAD_DATA);
}

static bool read_console_payload(struct candump_line *out, struct text *t)
{
    size_t length;

    if (!read_bracket(out, t, &length))
        return false;
    skip_blanks(t);
    struct text rest = *t, word = take_token(&rest);
    if (token_is(&word, "remote")) {
        out->frame.flags |= DBR_FRAME_REMOTE;
        return accept_length(out, length);
    }
    return read_console_data(out, t, length) && read_console_tail(out, t);
}

/* "RX" or "TX" and two flag columns between interface and identifier. */
static void read_console_direction(struct candump_line *out, struct text *t)
{
    struct text rest = *t, word = take_token(&rest);

    if (!token_is(&word, "RX") && !token_is(&word, "TX"))
        return;
    if (token_is(&word, "TX"))
        out->frame.flags |= DBR_FRAME_SENT;
    for (int i = 0; i < 2; i++) {
        struct text flag = take_token(&rest);
        if (token_is(&flag, "B"))
            out->frame.flags |= DBR_FRAME_BRS;
        else if (token_is(&flag, "E"))
            out->frame.flags |= DBR_FRAME_ESI;
    }
    *t = rest;
}

static bool read_console(struct candump_line *out, struct text *t)
{
    read_console_direction(out, t);
    struct text id = take_token(t);
    skip_blanks(t);
    if (peek(t) != '[' && peek(t) != '{')
        return reject(out, DBR_REJECTION_NOT_A_FRAME);
    out->form = FORM_CONSOLE;
    return read_id(out, id) && read_console_payload(out, t);
}

static bool read_frame(struct candump_line *out, struct text *t)
{
    if (!read_stamp(out, t))
        return false;
    struct text interface = take_token(t);
    skip_blanks(t);
    if (interface.at == interface.end || ends(t))
        return reject(out, DBR_REJECTION_NOT_A_FRAME);
    out->interface = interface.at;
    out->interface_length = (size_t)(interface.end - interface.at);
    struct text rest = *t, word = take_token(&rest);
    const char *hash = memchr(word.at, '#', (size_t)(word.end - word.at));
    if (!hash)
        return read_console(out, t);
    out->form = FORM_LOG;
    t->at = hash + 1;
    if (memchr(t->at, ':', (size_t)(t->end - t->at)))
        return reject(out, DBR_REJECTION_CAN_XL); /* flags:type:address before its data */
    return read_id(out, (struct text){word.at, hash}) && read_log_payload(out, t);
}

/*
 * The kernel's own reading of an error frame follows it on indented lines. They
 * hold words and braces, never a stamp or a length in brackets: a damaged frame
 * line, which console lines may also indent, is not mistaken for one.
 */
static bool looks_like_explanation(const struct text *t)
{
    return peek(t) != '(' && !memchr(t->at, '[', (size_t)(t->end - t->at)) &&
           !memchr(t->at, '#', (size_t)(t->end - t->at));
}

void candump_line_read(struct candump_line *out, const char *line, size_t length)
{
    struct text t = {line, line + length};

    memset(out, 0, sizeof *out);
    while (t.end > t.at && (is_blank(t.end[-1]) || t.end[-1] == '\r'))
        t.end--;
    bool indented = !ends(&t) && is_blank(*t.at);
    skip_blanks(&t);
    if (ends(&t) || *t.at == '#') {
        out->kind = LINE_BLANK;
        return;
    }
    struct text content = t;
    if (read_frame(out, &t))
        out->kind = LINE_FRAME;
    else if (indented && looks_like_explanation(&content))
        out->kind = LINE_INDENTED;
}
