/* SPDX-License-Identifier: GPL-3.0-or-later */
#include "protocol/board/flight_board.h"
