; Nothing is indented: a field counts only at the start of its line.

(field) @indent.zero
(directive) @indent.zero
(comment) @indent.zero
(music_line) @indent.zero
(text_line) @indent.zero
