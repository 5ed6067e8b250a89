/**
 * @file ABC notation, after the open "abc standard v2.1".
 * @license MIT OR Apache-2.0
 *
 * White space breaks beams, line ends close fields, and a blank line ends a tune, so nothing is an "extra":
 * every byte is asked for. Music lines are flat sequences of small items, and whatever fits nowhere is one
 * `unknown` character, so half-typed text damages its own bar and nothing after it.
 * What fields say inside (keys, metres, voices) is read by the server; here a value is one text.
 */

/// <reference types="tree-sitter-cli/dsl" />
// @ts-check

const LINE_END = /\r\n|\n|\r/;
// Two line ends or more. CR LF is one, so a CR may not be parted from the LF after it.
const BLANK_LINES =
  /(\r?\n([ \t]*(\r\n|\n|\r))+|\r([ \t]+(\r\n|\n|\r)|\r\n|\r)([ \t]*(\r\n|\n|\r))*)[ \t]*/;
const TEXT = /[^\r\n]+/;
// Up to a comment; `\\%` is a percent sign.
const VALUE = token(prec(1, /([^%\r\n\\]|\\[^\r\n])+\\?|\\/));

module.exports = grammar({
  name: "abc",

  extras: (_) => [],

  rules: {
    // A byte-order mark before all this is skipped by tree-sitter itself.
    source_file: ($) =>
      seq(
        optional($._line_end),
        optional($._space),
        optional($._paragraph),
        repeat(seq($._blank_lines, optional($._paragraph))),
      ),

    // ---- paragraphs -------------------------------------------------------------------------------------
    // Lines come in two shapes: closed by a line end (`…_lines`), and the last of its paragraph, which a blank
    // line or the end of the file closes (`…_last`). What may only start a line is so never read inside one.

    // Comments and directives, then a tune or free text; within a paragraph only `X:` starts another tune.
    _paragraph: ($) =>
      choice(
        seq(repeat1($._leading_line), optional($._leading_last)),
        $._leading_last,
        seq(repeat($._leading_line), $._first_last),
        seq(
          repeat($._leading_line),
          $._first_lines,
          repeat(alias($._numbered_tune_lines, $.tune)),
          optional(alias($._numbered_tune_last, $.tune)),
        ),
      ),

    _leading_line: ($) =>
      choice(
        seq(choice($.comment, $.directive), $._line_end),
        prec.right(seq($.text_block, optional($._line_end))),
      ),
    _leading_last: ($) => choice($.comment, $.directive),

    _first_lines: ($) =>
      choice(
        alias($._tune_lines, $.tune),
        alias($._numbered_tune_lines, $.tune),
        alias($._free_text_lines, $.free_text),
      ),
    _first_last: ($) =>
      choice(
        alias($._tune_last, $.tune),
        alias($._numbered_tune_last, $.tune),
        alias($._free_text_last, $.free_text),
      ),

    _free_text_lines: ($) => repeat1(seq($.text_line, $._line_end)),
    _free_text_last: ($) => seq(optional($._free_text_lines), $.text_line),
    text_line: (_) => token(prec(-3, TEXT)),

    // A header, and the music under it. The file header is a tune without `X:` and without a body.
    _tune_lines: ($) => tune_lines($, $._header_lines, $._keyed_header_lines),
    _tune_last: ($) => tune_last($, $._header_lines, $._keyed_header_lines, $._header_last),
    _numbered_tune_lines: ($) =>
      tune_lines($, $._numbered_header_lines, $._numbered_keyed_header_lines),
    _numbered_tune_last: ($) =>
      tune_last(
        $,
        $._numbered_header_lines,
        $._numbered_keyed_header_lines,
        $._numbered_header_last,
      ),

    // ---- headers ----------------------------------------------------------------------------------------
    // From the first field to `K:`, which ends it; without `K:`, to the first line that is music.

    _header_lines: ($) => prec.right(seq($._opening_line, repeat($._header_line))),
    _keyed_header_lines: ($) =>
      seq(optional(seq($._opening_line, repeat($._header_line))), $._key_field, $._line_end),
    _header_last: ($) =>
      choice(header_last($, $._opening_line), $._opening_last, $._key_field),
    _numbered_header_lines: ($) =>
      prec.right(seq($._reference_field, $._line_end, repeat($._header_line))),
    _numbered_keyed_header_lines: ($) =>
      seq($._reference_field, $._line_end, repeat($._header_line), $._key_field, $._line_end),
    _numbered_header_last: ($) =>
      choice(header_last($, seq($._reference_field, $._line_end)), $._reference_field),

    _key_field: ($) => alias($.key_field, $.field),
    _reference_field: ($) => alias($.reference_field, $.field),

    _opening_line: ($) => choice(seq($.field, $._line_end), $._history_lines),
    _opening_last: ($) => choice($.field, $._history_last),
    _header_line: ($) =>
      choice($._opening_line, seq(choice($.directive, $.comment), $._line_end), $._block_lines),
    _header_line_last: ($) => choice($._opening_last, $.directive, $.comment, $._block_last),

    // `H:` may run on over plain lines.
    _history_lines: ($) =>
      prec.right(
        seq(
          alias($.history_field, $.field),
          $._line_end,
          repeat(seq(alias($.history_line, $.text_line), $._line_end)),
        ),
      ),
    _history_last: ($) =>
      choice(
        alias($.history_field, $.field),
        seq(
          alias($.history_field, $.field),
          $._line_end,
          repeat(seq(alias($.history_line, $.text_line), $._line_end)),
          alias($.history_line, $.text_line),
        ),
      ),
    history_line: (_) => token(prec(1, TEXT)),

    // ---- text blocks ------------------------------------------------------------------------------------
    // Between tunes a block holds any line; inside one each line starts with `%%`, and the first that does not
    // ends it.

    text_block: ($) =>
      prec.right(
        seq(
          $.text_block_start,
          repeat(choice($._line_end, $._blank_lines, alias($.bare_line, $.text_line))),
          optional($.text_block_end),
        ),
      ),
    text_block_start: (_) => token(prec(4, /%%begintext[^\r\n]*/)),
    text_block_end: (_) => token(prec(5, /%%endtext[^\r\n]*/)),
    bare_line: (_) => token(prec(4, TEXT)),

    _block_lines: ($) =>
      choice(
        seq(alias($._closed_block, $.text_block), $._line_end),
        alias($._open_block, $.text_block),
      ),
    _block_last: ($) =>
      choice(
        alias($._closed_block, $.text_block),
        alias($._open_block_last, $.text_block),
      ),
    _closed_block: ($) => seq($._open_block_lines, $.text_block_end),
    _open_block: ($) => $._open_block_lines,
    _open_block_last: ($) =>
      choice($.text_block_start, seq($._open_block_lines, alias($.marked_line, $.text_line))),
    _open_block_lines: ($) =>
      choice(
        seq($.text_block_start, $._line_end),
        seq($._open_block_lines, alias($.marked_line, $.text_line), $._line_end),
      ),
    marked_line: (_) => token(prec(4, /%%[^\r\n]*/)),

    // ---- fields -----------------------------------------------------------------------------------------

    field: ($) => field_of($, $.field_name),
    history_field: ($) => field_of($, alias($.history_field_name, $.field_name)),
    reference_field: ($) => field_of($, alias($.reference_field_name, $.field_name)),
    key_field: ($) => field_of($, alias($.key_field_name, $.field_name)),
    body_field: ($) => field_of($, alias($.body_field_name, $.field_name)),

    field_name: (_) => token(prec(2, /[A-GIJL-WYZa-z+]:/)),
    history_field_name: (_) => token(prec(2, "H:")),
    reference_field_name: (_) => token(prec(5, "X:")),
    key_field_name: (_) => token(prec(2, "K:")),
    // After the header the letters of notes and rests never start a field: `G:|` is a note and a bar line.
    body_field_name: (_) => token(prec(2, /[H-Wh-w+]:/)),
    field_value: (_) => VALUE,

    // Unclosed, one that is a setting ends before the next bar line; `C|` is a metre. A text may hold anything.
    inline_field: ($) =>
      seq(
        choice(
          inline_field_of($, $.inline_setting_name, $.inline_setting),
          inline_field_of($, $.inline_metre_name, $.inline_metre),
          inline_field_of($, $.inline_text_name, $.inline_text),
        ),
        optional("]"),
      ),
    inline_setting_name: (_) => token(prec(2, /\[[KLPQUV]:/)),
    inline_setting: (_) => token(prec(1, /[^|%\]\r\n]+/)),
    inline_metre_name: (_) => token(prec(2, "[M:")),
    inline_metre: (_) => token(prec(1, /[ \t]*C\|[^|%\]\r\n]*|[^|%\]\r\n]+/)),
    inline_text_name: (_) => token(prec(2, /\[[HIJNORSTWh-w]:/)),
    inline_text: (_) => token(prec(1, /[^\]\r\n]+/)),

    directive: ($) =>
      seq($.directive_name, optional($.directive_value), optional($.comment)),
    directive_name: (_) => token(prec(3, /%%[ \t]*[A-Za-z_][A-Za-z0-9_:.\-]*/)),
    directive_value: (_) => VALUE,

    comment: (_) => token(prec(2, /[ \t]*%[^\r\n]*/)),

    // ---- bodies -----------------------------------------------------------------------------------------

    _body_lines: ($) => repeat1($._body_line),
    _body_last: ($) => seq(optional($._body_lines), $._body_line_last),
    // Where a line that is no field came before `K:`, every field still counts, up to `K:`.
    _early_lines: ($) =>
      choice(seq($.music_line, $._line_end), seq($._early_lines, $._early_line)),
    _early_line: ($) => choice(seq($.music_line, $._line_end), $._header_line),
    _early_keyed_lines: ($) =>
      choice(
        seq($._early_lines, $._key_field, $._line_end),
        seq($._early_keyed_lines, $._body_line),
      ),
    _early_body_lines: ($) => choice($._early_lines, $._early_keyed_lines),
    _early_body_last: ($) =>
      choice(
        $.music_line,
        seq($._early_lines, choice($.music_line, $._header_line_last, $._key_field)),
        seq($._early_keyed_lines, $._body_line_last),
      ),

    _body_line: ($) => choice(seq($._body_text, $._line_end), $._block_lines),
    _body_line_last: ($) => choice($._body_text, $._block_last),
    _body_text: ($) =>
      choice(alias($.body_field, $.field), $.directive, $.comment, $.music_line),

    // ---- music ------------------------------------------------------------------------------------------

    music_line: ($) => seq(repeat1($._item), optional($.comment)),

    _item: ($) =>
      choice(
        $.note,
        $.rest,
        $.spacer,
        $.chord,
        $.grace,
        $.tuplet,
        $.broken_rhythm,
        $.tie,
        $.slur_open,
        $.slur_close,
        $.decoration,
        $.quoted,
        $.bar,
        $.ending,
        $.overlay,
        $.inline_field,
        $.line_break,
        $.continuation,
        $.reserved,
        $._space,
        $._joiner,
        $._lone_accidental,
        alias($.bracketed, $.unknown),
        $.unknown,
      ),

    note: ($) =>
      prec.right(
        seq(
          optional(field("accidental", $.accidental)),
          field("letter", $.letter),
          optional(field("octave", $.octave)),
          optional(field("length", $.length)),
        ),
      ),
    accidental: (_) => /\^\^?|__?|=/,
    letter: (_) => /[A-Ga-g]/,
    octave: (_) => /[',]+/,
    length: (_) => /[0-9]+(\/+[0-9]*)?|\/+[0-9]*/,

    rest: ($) => prec.right(seq(field("kind", $.rest_kind), optional(field("length", $.length)))),
    rest_kind: (_) => /[zxZX]/,
    spacer: ($) => prec.right(seq("y", optional(field("length", $.length)))),

    // Unclosed, it ends with its bar; a lone bracket is a chord without notes.
    chord: ($) =>
      prec.right(
        seq(
          "[",
          repeat($._chord_item),
          optional(seq(alias("]", $.chord_end), optional(field("length", $.length)))),
        ),
      ),
    _chord_item: ($) =>
      choice(
        $.note,
        $.rest,
        $.grace,
        $.tie,
        $.slur_open,
        $.slur_close,
        $.decoration,
        $.quoted,
        $._space,
        $._joiner,
        $._lone_accidental,
      ),

    grace: ($) =>
      prec.right(
        seq(
          "{",
          optional(alias(token(prec(1, "/")), $.acciaccatura)),
          repeat($._grace_item),
          optional(alias("}", $.grace_end)),
        ),
      ),
    _grace_item: ($) =>
      choice(
        $.note,
        $.rest,
        $.chord,
        $.tuplet,
        $.broken_rhythm,
        $.tie,
        $.slur_open,
        $.slur_close,
        $.decoration,
        $.quoted,
        $._space,
        $._joiner,
        $._lone_accidental,
      ),

    tuplet: (_) => /\([0-9]+(:[0-9]*)?(:[0-9]*)?/,
    broken_rhythm: (_) => />+|<+/,
    tie: (_) => /\.?-/,
    slur_open: (_) => /\.?\(/,
    slur_close: (_) => ")",

    decoration: (_) =>
      token(choice(/[.~H-Wh-w]/, /![^!|\[\]: \t\r\n]+!/, /\+[^+|\[\]: \t\r\n]+\+/)),

    // A chord symbol never holds a bar line, so an unclosed one stays in its bar; annotations may hold anything.
    quoted: (_) =>
      token(choice(/"[^"|\r\n]*"/, /"[\^_<>@][^"\r\n]*"/, /"[^"|%\r\n]*/)),

    bar: ($) => prec.right(seq($.bar_line, optional(alias($.ending_numbers, $.ending)))),
    bar_line: (_) =>
      token(prec(1, /\.?(:+|\[)?\|+([:|\]]|\[\|)*|::+|:+\]/)),
    ending_numbers: (_) => token(prec(1, /[0-9]+([,\-][0-9]+)*/)),
    // `["1.2"`, outside the standard, is met in real files.
    ending: (_) => token(prec(1, /\[([0-9]+([,\-][0-9]+)*|"[0-9][^"|\r\n]*")/)),

    overlay: (_) => /&+/,
    line_break: (_) => /[$!]/,
    continuation: (_) => "\\",
    reserved: (_) => /[#*;?@]/,
    _space: (_) => /[ \t]+/,
    _joiner: (_) => "`",
    _lone_accidental: ($) => prec(-1, alias($.accidental, $.unknown)),
    // Neither a field nor a chord: `[ K:D]`.
    bracketed: (_) => /\[[ \t]+[A-Za-z]:[^|\]\r\n]*\]/,
    unknown: (_) => token(prec(-1, /[^\r\n]/)),

    _line_end: (_) => token(prec(5, new RegExp("[ \\t]*(" + LINE_END.source + ")"))),
    _blank_lines: (_) => token(prec(6, new RegExp("[ \\t]*" + BLANK_LINES.source))),
  },
});

/** A tune closed by a line end; `header` is without `K:`. */
function tune_lines($, header, keyed) {
  return choice(
    seq(alias(header, $.header), optional(alias($._early_body_lines, $.body))),
    seq(alias(keyed, $.header), optional(alias($._body_lines, $.body))),
  );
}

/** A tune closed by a blank line or the end of the file. */
function tune_last($, header, keyed, last) {
  return choice(
    alias(last, $.header),
    seq(alias(header, $.header), alias($._early_body_last, $.body)),
    seq(alias(keyed, $.header), alias($._body_last, $.body)),
  );
}

/** A header of more than one line whose last has no line end. */
function header_last($, first) {
  return seq(first, repeat($._header_line), choice($._header_line_last, $._key_field));
}

/** A field: its name, and its value up to a comment. */
function field_of($, name) {
  return seq(field("name", name), optional(field("value", $.field_value)), optional($.comment));
}

/** An inline field up to its bracket. */
function inline_field_of($, name, value) {
  return seq(
    field("name", alias(name, $.field_name)),
    optional(field("value", alias(value, $.field_value))),
  );
}
