;;; recte.el --- Starts recte for ABC files -*- lexical-binding: t; -*-

;; Version: 0.1.0
;; Package-Requires: ((emacs "28.1") (eglot "1.9"))
;; SPDX-License-Identifier: MIT OR Apache-2.0

;;; Commentary:

;; Starts `recte serve' for .abc files through Eglot and hands it the
;; settings; everything musical is the server's.

;;; Code:

(require 'eglot)

(defgroup recte nil
  "A reader for music typed in ABC."
  :group 'languages)

(defcustom recte-server-path "recte"
  "The program to start, as `recte serve'."
  :type 'string)

(defcustom recte-settings nil
  "Settings for the server, a plist with the keys of recte.toml.
For example: (:words \"british\" :rules (:chord-spelling \"info\")).
To change them while a server runs, use `recte-configure'."
  :type 'plist)

;;;###autoload
(define-derived-mode recte-mode text-mode "ABC"
  "Mode for music typed in ABC."
  (setq-local comment-start "%"
              comment-start-skip "%+ *"))

(put 'recte-mode 'eglot-language-id "abc")

;;;###autoload
(add-to-list 'auto-mode-alist '("\\.abc\\'" . recte-mode))

(defun recte--settings-object ()
  "The settings as a JSON object, also when there are none."
  (or recte-settings (make-hash-table)))

(defun recte--share-settings ()
  "Put the settings where Eglot looks for what it tells a server.
A function of the user's own in that place is left alone."
  (let ((all (default-value 'eglot-workspace-configuration)))
    (unless (functionp all)
      (setq-default eglot-workspace-configuration
                    (plist-put (copy-sequence all) :recte (recte--settings-object))))))

(defun recte--contact (&rest _)
  "The command that starts the server, with its settings."
  (recte--share-settings)
  (list recte-server-path "serve" :initializationOptions (recte--settings-object)))

(add-to-list 'eglot-server-programs '(recte-mode . recte--contact))

(defun recte-configure (settings)
  "Replace `recte-settings' by SETTINGS and tell the server of this buffer."
  (setq recte-settings settings)
  (recte--share-settings)
  (when-let ((server (eglot-current-server)))
    (eglot-signal-didChangeConfiguration server)))

(provide 'recte)

;;; recte.el ends here
