"use strict";
// What a touch on the board does.
(function () {
  board.begin();
})();
