;;; Emacs with eglot (built in since 29; package `eglot' before).  -*- lexical-binding: t -*-
;; Put this in your init file.  Journals open in `haulm-mode', which starts the server.

(require 'eglot)

(defvar haulm-journals '("~/notes/")
  "Folders with a journal: each is one farm, with all its Markdown files.")

(defvar haulm-command '("haulm" "lsp")
  "How the language server is started.")

(define-derived-mode haulm-mode text-mode "Haulm"
  "A farm journal kept as Markdown."
  (setq-local comment-start nil))

(defun haulm--journal (directory)
  "The journal that DIRECTORY lies in, as a project."
  (let ((found (seq-find (lambda (journal) (file-in-directory-p directory journal)) haulm-journals)))
    (and found (cons 'transient (file-name-as-directory (expand-file-name found))))))

(defun haulm--maybe ()
  "Turn on `haulm-mode' in a file of a journal."
  (when (and buffer-file-name
             (string-suffix-p ".md" buffer-file-name)
             (haulm--journal (file-name-directory buffer-file-name)))
    (haulm-mode)
    (eglot-ensure)))

(add-hook 'project-find-functions #'haulm--journal)
(add-hook 'find-file-hook #'haulm--maybe)
(add-to-list 'eglot-server-programs (cons 'haulm-mode haulm-command))

(provide 'haulm)
