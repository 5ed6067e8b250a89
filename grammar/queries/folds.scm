; A tune, its header, and a block of text.

(tune) @fold
(header) @fold
(text_block) @fold
