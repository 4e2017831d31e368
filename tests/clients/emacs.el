;;; Emacs with eglot as a client, through the set-up growers are given.  -*- lexical-binding: t -*-
;; Run in a copy of a farm: emacs --batch -l emacs.el

(package-initialize)
(require 'json)
(require 'flymake)
(setq haulm-journals (list default-directory)
      haulm-command (list (getenv "HAULM") "lsp" "--today" (getenv "HAULM_TODAY"))
      make-backup-files nil
      eglot-sync-connect 30)
(load (concat (getenv "HAULM_EDITORS") "/emacs.el") nil t)

(defvar haulm-test-name "2026-spring.md")

(defun haulm-test-fail (&rest said)
  (princ (concat "emacs: FAILED: " (apply #'format said) "\n"))
  (kill-emacs 1))

(defun haulm-test-wait (what holds)
  "Waits up to a minute until HOLDS gives something."
  (let ((left 1200) found)
    (while (and (not (setq found (funcall holds))) (> left 0))
      (accept-process-output nil 0.05)
      (setq left (1- left)))
    (or found (haulm-test-fail "%s" what))))

(defun haulm-test-checked ()
  "What `check' says of the file: line, column and message of each finding."
  (with-temp-buffer
    (call-process (getenv "HAULM") nil '(t nil) nil "check" default-directory
                  "--today" (getenv "HAULM_TODAY") "--format" "json")
    (goto-char (point-min))
    (let* ((json-object-type 'alist) (json-array-type 'list) found)
      (dolist (f (alist-get 'findings (json-read)))
        (let* ((at (alist-get 'at f)) (start (alist-get 'start at)))
          (when (equal (alist-get 'file at) haulm-test-name)
            (push (format "%d:%d %s" (alist-get 'line start) (alist-get 'column start)
                          (alist-get 'message f))
                  found))))
      (sort found #'string<))))

(defun haulm-test-shown ()
  "The same as Emacs shows it."
  (let (found)
    (dolist (d (flymake-diagnostics))
      (save-excursion
        (goto-char (flymake-diagnostic-beg d))
        (let* ((text (car (split-string (flymake-diagnostic-text d) "\n")))
               ;; eglot may put the source and the code before the message.
               (text (replace-regexp-in-string "\\`haulm *\\(\\[[^]]*\\]\\)?: " "" text))
               (text (replace-regexp-in-string "\\`alarm: " "" text)))
          (push (format "%d:%d %s" (line-number-at-pos) (1+ (- (point) (line-beginning-position))) text)
                found))))
    (sort found #'string<)))

(defun haulm-test-agrees (when)
  (let ((due (haulm-test-checked)) (left 1200))
    (while (and (not (equal due (haulm-test-shown))) (> left 0))
      (accept-process-output nil 0.05)
      (setq left (1- left)))
    (unless (equal due (haulm-test-shown))
      (haulm-test-fail "%s:\ncheck %S\nshown %S" when due (haulm-test-shown)))
    (princ (format "emacs: %s: %d findings, the same as check\n" when (length due)))))

(find-file haulm-test-name)
(unless (eq major-mode 'haulm-mode) (haulm-test-fail "the set-up did not turn on its mode"))
;; In batch no command ends, which eglot would wait for.
(unless (eglot-current-server) (apply #'eglot--connect (eglot--guess-contact)))
(flymake-mode 1)
(haulm-test-agrees "opened")
(goto-char (point-max))
(insert "\n## 2026-04-30\n- noticed cuped leaves on tomato in east-1 🍅: 🍅\n- spread lot zz-9 on east-1\n")
(save-buffer)
(eglot--signal-textDocument/didChange)
(haulm-test-agrees "edited and saved")
(goto-char (point-min))
(search-forward "lot own-26")
(backward-char 2)
;; Nobody is there to be asked whether several files may change.
(fset 'y-or-n-p #'always)
(eglot-rename "potting-26")
(save-some-buffers t)
(eglot--signal-textDocument/didChange)
(haulm-test-agrees "renamed")
(goto-char (point-min))
(when (search-forward "lot own-26" nil t) (haulm-test-fail "a line still says lot own-26"))
(eglot-shutdown (eglot-current-server))
(princ "emacs: ended well\n")
