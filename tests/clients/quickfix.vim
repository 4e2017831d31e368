" Vim without any plug-in: what `:make` lists is compared with `check --format short`, and each line leads to its
" place. Run in a copy of a farm, with the set-up growers are given in $HAULM_QUICKFIX:
" vim -Nu NONE -i NONE -es -S quickfix.vim
set nomore noswapfile
function s:fail(said)
  call writefile(['vim: FAILED: ' . a:said], 'said')
  cquit 1
endfunction

source $HAULM_QUICKFIX
silent make!
let s:list = getqflist()
let s:due = systemlist('haulm check --format short')
let s:got = map(copy(s:list), {_, f -> bufname(f.bufnr) . ':' . f.lnum . ':' . f.col . ': ' . f.text})
if s:got != s:due || empty(s:due)
  call s:fail('check says ' . len(s:due) . ' lines, the list has ' . len(s:got))
endif
for s:n in range(1, len(s:list))
  execute 'silent cc' s:n
  let s:at = expand('%') . ':' . line('.') . ':' . col('.') . ':'
  if stridx(s:due[s:n - 1], s:at . ' ') != 0
    call s:fail('at ' . s:at . ' for ' . s:due[s:n - 1])
  endif
endfor
call writefile(['vim: ' . len(s:list) . ' findings in the quickfix list, each leads to its place'], 'said')
qall!
