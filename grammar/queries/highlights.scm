; What an editor colours, by the capture names editors share.

(comment) @comment
(directive_name) @keyword.directive
(directive_value) @string.special
(text_block_start) @keyword.directive
(text_block_end) @keyword.directive
(text_block (text_line) @string)

(field name: (field_name) @property)
(field value: (field_value) @string)
(field
  name: (field_name) @_name
  value: (field_value) @markup.heading
  (#eq? @_name "T:"))
(header (text_line) @string)
(inline_field name: (field_name) @property)
(inline_field value: (field_value) @string)
(inline_field "]" @property)

(note letter: (letter) @variable)
(note octave: (octave) @variable)
(accidental) @operator
(length) @number
(rest_kind) @constant
(spacer "y") @constant

(chord "[" @punctuation.bracket)
(chord_end) @punctuation.bracket
(grace "{" @punctuation.bracket)
(grace_end) @punctuation.bracket
(acciaccatura) @punctuation.bracket
(slur_open) @punctuation.bracket
(slur_close) @punctuation.bracket

(tuplet) @operator
(broken_rhythm) @operator
(tie) @operator
(overlay) @operator

(decoration) @attribute
(quoted) @string
(bar_line) @punctuation.delimiter
(ending) @label
(line_break) @punctuation.special
(continuation) @punctuation.special
(reserved) @punctuation.special
