;;; emacs.el --- One composer's minute in Emacs -*- lexical-binding: t; -*-

;; The misspelled chord is marked, hovered and respelled; settings reach the
;; server.  Run in batch by the `run' script beside this file, in a folder of
;; its own that holds two-bars.abc; RECTE is the program.

;;; Code:

(require 'recte)
(require 'flymake)

(defconst test-chord "[E_AB]")
(defconst test-respelled "[E^GB]")
(defconst test-title "Respell as E major: E G♯ B")
(defconst test-patience 20 "Seconds.")

(defun test-until (what look)
  "Wait for LOOK to give something true and return it; else fail, naming WHAT."
  (let ((end (+ (float-time) test-patience)) seen)
    (while (and (not (setq seen (funcall look))) (< (float-time) end))
      (accept-process-output nil 0.05))
    (or seen (error "Waited %s s for %s" test-patience what))))

(defun test-same (seen wanted what)
  "Fail, naming WHAT, unless SEEN is WANTED."
  (unless (equal seen wanted)
    (error "%s: saw %S, wanted %S" what seen wanted)))

(defun test-text ()
  "The whole buffer."
  (buffer-substring-no-properties (point-min) (point-max)))

(defun test-type-becomes (type)
  "Wait for one finding of the Flymake TYPE and return it."
  (test-until (format "a finding of type %s" type)
              (lambda ()
                (let ((all (flymake-diagnostics)))
                  (and (= (length all) 1)
                       (eq (flymake-diagnostic-type (car all)) type)
                       (car all))))))

(defun test-hover ()
  "What the editor's own hover says at point."
  (let (shown)
    (eglot-hover-eldoc-function
     (lambda (text &rest _) (setq shown (substring-no-properties text))))
    (test-until "the hover" (lambda () shown))))

(defun test-quick-fix ()
  "Open the editor's own menu of actions and take the one with our title."
  (cl-letf (((symbol-function 'completing-read)
             (lambda (_prompt choices &rest _)
               (let ((titles (mapcar (lambda (c) (if (consp c) (car c) c)) choices)))
                 (or (car (member test-title titles))
                     (error "Not offered; offered: %S" titles))))))
    (let ((last-nonmenu-event t)) ; as after a key, not after the mouse
      (call-interactively #'eglot-code-actions))))

(defun test-connect ()
  "Start the server for this buffer and return it."
  (apply #'eglot--connect (eglot--guess-contact))
  (eglot--maybe-activate-editing-mode)
  (test-until "the server" #'eglot-current-server))

(defun test-session ()
  "The whole minute."
  (setq recte-server-path (getenv "RECTE")
        recte-settings '(:rules (:chord-spelling "error"))
        eglot-confirm-server-initiated-edits nil
        eglot-send-changes-idle-time 0)
  (find-file "two-bars.abc")
  (test-same major-mode 'recte-mode "The mode")
  (let ((before (test-text))
        (server (test-connect)))
    (test-type-becomes 'eglot-error)
    (recte-configure '(:rules (:chord-spelling "off")))
    (test-until "no finding while the rule is off" (lambda () (null (flymake-diagnostics))))
    (recte-configure '(:rules (:chord-spelling "warning")))
    (let ((finding (test-type-becomes 'eglot-warning)))
      (test-same (and (string-match "E, A flat, B is an E major [a-z]+; players expect G sharp\\." (flymake-diagnostic-text finding)) t)
                 t (flymake-diagnostic-text finding))
      (goto-char (flymake-diagnostic-beg finding))
      (test-same (line-number-at-pos)
                 (progn (goto-char (point-min)) (search-forward test-chord) (line-number-at-pos))
                 "The line of the finding"))
    (goto-char (1+ (match-beginning 0)))
    (let ((shown (test-hover)))
      ;; Without a Markdown mode Emacs shows the stars of bold words.
      (unless (string-match-p "\\`\\**E major" shown)
        (error "The hover does not begin with the chord: %S" shown)))
    (test-quick-fix)
    (test-same (test-text) (string-replace test-chord test-respelled before) "The text after the quick fix")
    (eglot--signal-textDocument/didChange)
    (test-until "the finding to go" (lambda () (null (flymake-diagnostics))))
    (eglot-shutdown server)))

(condition-case problem
    (test-session)
  (error (message "%s" (error-message-string problem))
         (kill-emacs 1)))

;;; emacs.el ends here
