# bash completion for coatroom
_coatroom() {
  local cur=${COMP_WORDS[COMP_CWORD]} command=${COMP_WORDS[1]}
  if ((COMP_CWORD == 1)); then
    mapfile -t COMPREPLY < <(compgen -W 'begin plan check size weeks promise dry dose tune board mark --help --version' -- "$cur")
    return
  fi
  local options=--help
  case $command in
    begin) options='--answers --date --json --help' ;;
    plan) options='--date --from --day --now --earlier --frozen --state --out --station-sheets --budget --seed --threads --replications --precision --robust --policy --on-paper --what-if --pin --pins --post --compare --json --quiet --help' ;;
    check) options='--date --scenario --json --help' ;;
    size) options='--change --orders --volumes --days --min-days --no-elimination --effort --rule --kinds --indifference --precision --confidence --on-time-target --seed --threads --interest --inflation --energy-price --floor-price --overtime-wage --late-order --late-hour --send-out --days-a-year --shard --merge --out --csv --json --quiet --help' ;;
    promise) options='--screens --mesh --frame --emulsion --coats --film --image --finest-line --ruling --kept-stencil --wanted --order --job --priority --enquiries --date --from --now --earlier --state --day --replications --effort --correction --backtest --journal --import --export --accept --explain --quick --quiet --table --weeks --load --out --seed --threads --json --help' ;;
    weeks) options='--days --orders-a-day --rule --precision --seed --trace --out --json --quiet --help' ;;
    dry) options='--cabinet --what --coat-plan --mesh --emulsion --frame --temperature --humidity --observed --out --json --help' ;;
    dose) options='--order --unit --mesh --emulsion --coat-plan --tolerance --wedge --percentages --best --save --out --json --help' ;;
    tune) options='--marks --orders --since --write --json --help' ;;
    mark) options='--at --by --device --list --csv --import --state-out --json --help' ;;
    board) options='--plan --port --date --from --now --state --lan --qr --host --read-only --budget --limit --clock --pace --day --replications --seed --threads --help' ;;
  esac
  if [[ $cur == -* ]]; then
    mapfile -t COMPREPLY < <(compgen -W "$options" -- "$cur")
  else
    mapfile -t COMPREPLY < <(compgen -f -- "$cur")
  fi
}
complete -o filenames -F _coatroom coatroom
