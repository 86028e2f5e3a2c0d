"""Small reports as technicians tell them, and which failures they must set apart.

Expected from what happens in a furnace, derived beside each; the facts are common practice, no source. Of the two failures named, the records must
leave the first likelier against the second than it was before them: what is common and what is rare is not asked here.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from furnace_diag.diagnosis.evidence import Evidence
from furnace_diag.diagnosis.prior import prior_given
from furnace_diag.diagnosis.report_file import understand
from furnace_diag.diagnosis.weigh import weigh
from furnace_diag.knowledge.yaml_text import parse_yaml


def gains(evidence: Evidence, *texts: str) -> dict[str, float]:
    """How many times likelier the records (events and repairs too) make each failure, up to one factor for all."""
    told = understand(parse_yaml(f"records: [{', '.join(texts)}]", "report.yaml"), evidence.knowledge, evidence.vocabulary).records
    groups = [facts for _, facts in evidence.groups(told)]
    ones = np.ones(len(evidence.population.fault_of))
    after = weigh(evidence.population, prior_given(evidence.family, told), groups, ones, evidence.words.something_else, evidence.comings).failures
    return {str(f): float(a / p) for f, a, p in zip(evidence.population.faults, after, evidence.family.prior, strict=True)}


AT_LEAST = 1.5  # times: more than the luck of the draw; how much more is the program's own figure, and not asked

# (records, likelier, less likely)
SET_APART: list[tuple[tuple[str, ...], str, str]] = [
    # a call that comes and goes at W is lost where the call is made or carried, now and then, and is not simply missing
    (("{sign: heat_call_at_board, value: comes and goes}",), "thermostat:no_call_at_times", "thermostat:no_call"),
    (("{sign: heat_call_at_board, value: comes and goes}",), "thermostat_cable:w_loose", "thermostat_cable:w_open"),
    (("{sign: heat_call_at_board, value: comes and goes}",), "board_plug:thermostat_contact_loose", "flame_rod:filmed"),
    # what opens warm stops the inducer within a call; a winding that is always open never lets it start
    (("{sign: inducer_cuts_out, value: yes}",), "inducer:stops_when_warm", "inducer:winding_open"),
    (("{sign: inducer_cuts_out, value: yes}",), "control_board:inducer_output_comes_and_goes", "control_board:inducer_relay_will_not_close"),
    # a relay that chatters lets the inducer make its draft, and takes it away again before anything glows
    (
        ("{sign: inducer_output_drops_out, value: yes}", "{sign: pressure_switch_contact, value: closed, step: inducer_start}"),
        "control_board:inducer_output_drops_out", "control_board:inducer_output_comes_and_goes",
    ),
    (("{sign: igniter_glows, value: no}",), "control_board:inducer_output_drops_out", "flame_rod:filmed"),
    # a plug that is loose at the part itself answers there, comes and goes, and the inducer's lets it go within a call
    (
        ("{experiment: wire_moved_changes_it, value: at the inducer}", "{sign: fault_comes_and_goes, value: yes}"),
        "inducer_harness:loose", "inducer:stops_when_warm",
    ),
    (
        ("{experiment: wire_moved_changes_it, value: at the igniter}", "{sign: fault_comes_and_goes, value: yes}"),
        "igniter_harness:loose", "igniter_harness:open",
    ),
    (
        ("{experiment: wire_moved_changes_it, value: at the gas valve}", "{sign: fault_comes_and_goes, value: yes}"),
        "gas_harness:loose", "gas_valve:coil_opens_when_hot",
    ),
    (("{sign: inducer_cuts_out, value: yes}",), "inducer_harness:loose", "inducer_harness:resistive"),
    (("{experiment: wire_moved_changes_it, value: at the inducer}",), "board_plug:inducer_contact_loose", "control_board:inducer_output_comes_and_goes"),
    # leaves, rust and lint that lie about there lie in the burners too
    (("{sign: debris_inside, value: present}",), "burners:dirty", "flame_rod:filmed"),
    # a crack that gapes as it warms lets the glow begin; a broken igniter never glows, and an aged one glows on
    (("{sign: igniter_goes_dark, value: glows then dies}",), "igniter:opens_when_hot", "igniter:open"),
    (("{sign: igniter_goes_dark, value: goes dark}",), "igniter:opens_when_hot", "igniter:aged"),
    (("{sign: igniter_goes_dark, value: goes out}",), "pressure_switch:drops_out_at_times", "flame_rod:filmed"),
    # a cleaning takes a film off and mends no porcelain
    (("{history: flame_rod, value: cleaned_no_change}",), "flame_rod:grounded", "flame_rod:filmed"),
    # what films over, fills up or clogs again was put right by the cleaning; a crack in the porcelain or a bent rod was not, and nothing else was touched
    (("{history: flame_rod, value: helped_a_while}",), "flame_rod:filmed", "flame_rod:grounded"),
    (("{history: flame_rod, value: helped_a_while}",), "flame_rod:filmed", "burner_ground:poor"),
    (("{history: flame_rod, value: helped_a_while}",), "flame_rod:filmed", "igniter:open"),
    (("{history: pressure_hose, value: helped_a_while}",), "pressure_hose:wet", "pressure_switch:will_not_close"),
    (("{history: pressure_hose, value: helped_a_while}",), "pressure_hose:port_plugged", "pressure_hose:off_or_cracked"),
    (("{history: 'pressure_hose:port_plugged', value: helped_a_while}",), "pressure_hose:port_plugged", "pressure_switch:will_not_close"),
    (("{history: burners, value: helped_a_while}",), "burners:dirty", "igniter:open"),
    (("{history: filter, value: helped_a_while}",), "filter:blocked", "limit_switch:will_not_close"),
    # what a repair that helped a while did not mend is still less likely than it was
    (("{history: igniter, value: helped_a_while}",), "burners:dirty", "igniter:open"),
    # a fuse that reads good by the meter is good, whoever said that it looked blown
    (("{sign: fuse_looks, value: blown, source: told}", "{point: fuse_ohms, value: 0.2 ohm}"), "transformer:primary_open", "low_voltage_fuse:blown"),
    # dead at the pin with the inducer due; `call` is over at once on a furnace that answers it
    (("{point: inducer_pin_to_neutral, value: 0.1 V, step: inducer_start}",), "control_board:inducer_relay_will_not_close", "igniter:open"),
    # a breaker that trips by wear, and holds again for a while once it is reset
    (("{sign: fault_comes_and_goes, value: yes}",), "power_supply:breaker_worn", "power_supply:breaker_tripped"),
    # mice chew whatever wire they find; the inducer's and the valve's are among the thinnest
    (("{sign: rodent_signs, value: present}",), "inducer_harness:open", "igniter:open"),
    (("{sign: rodent_signs, value: present}",), "gas_harness:open", "igniter:open"),
    # wind and fans push against the draft at the vent's end; no hose and no switch feels them
    (("{event: high_wind}",), "vent:downdraft", "pressure_switch:will_not_close"),
    (("{sign: fault_goes_with_wind, value: yes}",), "vent:downdraft", "pressure_hose:off_or_cracked"),
    (("{sign: fault_goes_with_wind, value: no}",), "vent:blocked", "vent:downdraft"),
    (("{sign: draft_with_fans_on, value: is_lost}",), "vent:downdraft", "pressure_switch:will_not_close"),
    (("{sign: fault_comes_and_goes, value: yes}",), "vent:partly_blocked", "vent:blocked"),
    (("{sign: vent_looks, value: clear}",), "vent:downdraft", "vent:blocked"),  # it is looked at on a calm day, and nothing is in it
    # the hose is whole and the port is open: what is left to keep 0.12 in. w.c. from growing is the vent or the inducer
    (
        ("{point: draft, value: 0.12, step: inducer_start}", "{sign: pressure_hose_looks, value: good}", "{sign: pressure_port_looks, value: clear}"),
        "vent:blocked", "thermostat:no_call",
    ),
    # flat cells blank the display and leave the board alive; what leaves the board without 24 V takes its light with it
    (("{sign: thermostat_display, value: blank}", "{sign: light, value: steady}"), "thermostat:batteries_dead", "thermostat:no_call"),
    (("{sign: thermostat_display, value: blank}", "{sign: light, value: steady}"), "thermostat:batteries_dead", "low_voltage_fuse:blown"),
    (("{sign: thermostat_batteries, value: replaced_and_works}",), "thermostat:batteries_dead", "thermostat:no_call"),
    (("{sign: thermostat_batteries, value: dead}",), "thermostat:batteries_dead", "igniter:open"),
    # good metal is under an ohm to ground; rust reads hundreds and more, a wire that is off reads OL, and neither is the rod or the board
    (("{point: burner_to_ground_ohms, value: 900 ohm}",), "burner_ground:poor", "flame_rod:filmed"),
    (("{point: burner_to_ground_ohms, value: OL}",), "burner_ground:wire_off", "flame_rod:filmed"),
    (("{point: burner_to_ground_ohms, value: OL}",), "burner_ground:wire_off", "control_board:flame_circuit_dead"),
    # no AC on the rod pin with the line where it should be: nothing leaves the board; with AC there, what should carry the current does not
    (
        ("{point: rod_pin_to_chassis, value: 0.4 V, step: pre_purge}", "{point: line_to_chassis_at_board, value: 119 V, step: call}"),
        "control_board:rod_feed_dead", "control_board:flame_circuit_dead",
    ),
    (("{point: rod_pin_to_chassis, value: 88 V, step: pre_purge}",), "flame_wire:open", "control_board:rod_feed_dead"),
    # the rod is fed from the line pin, so that crossed leads take its voltage away with a good board
    (("{point: rod_pin_to_chassis, value: 0.4 V, step: pre_purge}",), "power_supply:hot_and_neutral_crossed", "flame_wire:open"),
    # too low a speed on HEAT moves too little air past the exchanger, and loses less on its way: high rise, low static; shut registers raise both
    (
        ("{point: temperature_rise, value: 84 F, step: heating}", "{point: static_pressure, value: 0.22 in wc, step: heating}"),
        "blower_wiring:heat_lead_on_low_tap", "ducts:registers_shut",
    ),
    (("{point: static_pressure, value: 0.22 in wc, step: heating}",), "blower_wiring:heat_lead_on_low_tap", "filter:blocked"),
    # an inducer that runs on and on behind a closed switch looks like a purge that does not end, and is told as one
    (
        (
            "{point: pressure_switch_return_to_c, value: 25.4 V, step: pre_purge}", "{sign: igniter_glows, value: no}",
            "{sign: light_says, value: pressure_switch_open}",
        ),
        "control_board:pressure_input_dead", "igniter:open",
    ),
    # minutes of flame and then none is the limit's work, for want of air mostly; a rod that sees none drops it in seconds
    (("{sign: flame_goes_out, value: after a few minutes}",), "filter:blocked", "flame_rod:filmed"),
    (("{sign: flame_goes_out, value: after a few minutes}",), "ducts:coil_dirty", "thermostat:no_call"),
    # and a furnace that burns all through its call does not go out after minutes
    (("{sign: flame_goes_out, value: after a few minutes}",), "blower_motor:winding_open", "blower_wiring:cool_lead_parked"),
    # a flame that never gets to the rod, and one that does with nothing behind it
    (("{sign: burners_look, value: full of rust}", "{sign: flame_is_steady, value: no}"), "burners:dirty", "flame_wire:open"),
    # a crack closes cold and gapes hot: a good cold figure, the whole line across it and no current is the igniter, and no broken one
    (
        ("{point: igniter_volts_at_plug, value: 119.8 V, step: igniter_warm_up}", "{point: igniter_ohms, value: 52 ohm}",
         "{sign: igniter_glows, value: no, step: igniter_warm_up}"),
        "igniter:opens_when_hot", "igniter:open",
    ),
    (
        ("{point: igniter_amps, value: 0 A, step: igniter_warm_up}", "{point: igniter_ohms, value: 52 ohm}"),
        "igniter:opens_when_hot", "igniter:open",
    ),
    # a crack leaks part of the flame current past the board, and no cleaning shuts it; a film and a poor ground leave the porcelain whole
    (
        ("{point: flame_current, value: 0.3 uA, step: ignition_trial}", "{sign: rod_porcelain, value: cracked}", "{sign: burners_light, value: drop_out}"),
        "flame_rod:leaks", "burner_ground:poor",
    ),
    (("{point: flame_current, value: 0.3 uA, step: ignition_trial}",), "flame_rod:leaks", "flame_rod:grounded"),
    # too little gas: a short flame that the rod loses, at the times when others draw on the same pipe
    (
        ("{point: inlet_pressure, value: 2.4, step: ignition_trial}", "{sign: burners_light, value: drop_out}", "{sign: fault_comes_and_goes, value: yes}"),
        "gas_supply:low_at_times", "flame_rod:filmed",
    ),
    (("{sign: burners_light, value: drop_out}",), "gas_supply:low", "gas_supply:shut"),
    # a joint that still carries the motor loses part of the line between two places on the board; one burnt through loses all of it, and the spade
    # lies behind the terminal
    (("{point: across_heat_output, value: 18 V, step: heating}",), "control_board:heat_joint_poor", "control_board:heat_joint_burnt"),
    (("{point: across_heat_output, value: 18 V, step: heating}",), "control_board:heat_joint_poor", "board_plug:heat_contact_resistive"),
    # with the valve's load on, what is lost is lost between the two places that it is read between: switch, plug, or board
    (
        ("{point: across_pressure_switch, value: 11 V, step: ignition_trial}", "{point: pressure_switch_return_to_c, value: 14 V, step: ignition_trial}"),
        "pressure_switch:resistive", "board_plug:pressure_contact_resistive",
    ),
    (
        ("{point: pressure_switch_return_to_c, value: 25.3 V, step: ignition_trial}", "{point: gas_pin_to_c, value: 14 V, step: ignition_trial}"),
        "control_board:gas_joint_poor", "pressure_switch:resistive",
    ),
    (
        ("{point: gas_pin_to_c, value: 14 V, step: ignition_trial}", "{point: across_gas_output, value: 11 V, step: ignition_trial}"),
        "control_board:gas_joint_poor", "transformer:weak",
    ),
    # the same of the igniter, the inducer and the board's own 24 V: part of it is lost behind the pin, before it, or between the fuse and R (Kirchhoff)
    (
        ("{point: igniter_pin_to_neutral, value: 71 V, step: igniter_warm_up}",),
        "control_board:igniter_joint_poor", "control_board:igniter_relay_will_not_close",
    ),
    (("{point: igniter_pin_to_neutral, value: 71 V, step: igniter_warm_up}",), "control_board:igniter_joint_poor", "board_plug:igniter_contact_resistive"),
    (("{point: across_inducer_relay, value: 24 V, step: inducer_start}",), "control_board:inducer_joint_poor", "board_plug:inducer_contact_resistive"),
    (("{point: across_fuse_joint, value: 12 V, step: call}",), "control_board:fuse_joint_poor", "low_voltage_fuse:clip_burnt"),
    (("{point: across_fuse_joint, value: 12 V, step: call}",), "control_board:fuse_joint_poor", "control_board:fuse_joint_open"),
    # who hears no click of the valve says that it stops before it, though the control went on to the trial
    (("{sign: stops_at, value: igniter_warm_up}",), "control_board:gas_relay_will_not_close", "flame_rod:filmed"),
    (("{sign: stops_at, value: igniter_warm_up}",), "gas_valve:coil_open", "burners:dirty"),
    (("{sign: stops_at, value: ignition_trial}",), "control_board:gas_relay_will_not_close", "thermostat:no_call"),
    # what a welded relay leaves on the valve is there once the call is over; a valve that sticks needs none
    (
        ("{point: w_to_c_at_board, value: 0.2 V, step: post_purge}", "{point: gas_pin_to_c, value: 25.8 V, step: post_purge}"),
        "control_board:gas_relay_will_not_open", "gas_valve:will_not_shut",
    ),
    # a supply that sinks while it burns was good before it, and takes the flame away
    (
        (
            "{point: inlet_pressure, value: 7.4, step: standby}", "{point: inlet_pressure, value: 2.2, step: heating}",
            "{sign: flame_goes_out, value: after_minutes}",
        ),
        "gas_supply:low_at_times", "gas_supply:falls_under_flow",
    ),
    # a conductor under the wrong screw is whole and touches no other; a short in the cable reads as one
    (
        ("{experiment: lead_that_blows_fuse, value: thermostat_wires}", "{point: thermostat_cable_w_to_c_ohms, value: OL, step: power_off}"),
        "thermostat_cable:w_on_c", "thermostat_cable:w_shorted",
    ),
    # a relay that lets go as it warms does so while it burns
    (
        ("{sign: flame_goes_out, value: after_minutes}", "{point: gas_pin_to_c, value: 0.2 V, step: heating}"),
        "control_board:gas_output_comes_and_goes", "control_board:gas_relay_will_not_close",
    ),
    # spare speeds joined under one nut feed part of the winding from the other
    (("{sign: spare_speed_leads, value: two_together}",), "blower_wiring:two_leads_joined", "blower_motor:seized"),
    # what is against the plate tells of air
    (("{sign: static_against_plate, value: over}",), "filter:blocked", "blower_wheel:loose"),
    (("{sign: ground_lead_is, value: loose}",), "burner_ground:wire_off", "flame_rod:filmed"),
    # what the board feeds and does not come on
    (("{sign: air_cleaner_works, value: no, step: heating}",), "control_board:eac_relay_will_not_close", "control_board:hum_relay_will_not_close"),
    (("{sign: humidifier_works, value: no, step: heating}",), "control_board:hum_relay_will_not_close", "control_board:eac_relay_will_not_close"),
    # a coil that pulls in clicks, whatever the seat behind it does; and gas that stands at the inlet and not at the outlet ends in the valve
    (("{sign: gas_valve_clicks, value: yes, step: ignition_trial}",), "gas_valve:clicks_and_stays_shut", "gas_valve:will_not_open"),
    (
        ("{sign: gas_valve_clicks, value: yes, step: ignition_trial}", "{point: inlet_pressure, value: 7, step: ignition_trial}",
         "{point: manifold_pressure, value: 0, step: ignition_trial}"),
        "gas_valve:clicks_and_stays_shut", "gas_supply:shut",
    ),
    # air goes with the wheel's speed (fan laws): a motor that drags or lacks its capacitor blows weakly, one that stands blows nothing
    (("{sign: blower_runs, value: slow, step: heating}", "{sign: air_at_registers, value: weak}"), "blower_motor:bearings_tight", "blower_motor:seized"),
    (
        ("{sign: blower_runs, value: slow, step: heating}", "{sign: air_at_registers, value: weak}", "{point: capacitor_microfarads, value: 3.2 uF}"),
        "blower_capacitor:weak", "blower_motor:bearings_tight",
    ),
    # what hums and blows a little turns; an open capacitor leaves it standing
    (("{sign: blower_runs, value: hums, step: heating}", "{sign: air_at_registers, value: weak}"), "blower_capacitor:weak", "blower_capacitor:open"),
    # half of the line at the board with the inducer alone on it, the other half between neutral and cabinet, or left in the hot wire
    (
        ("{point: line_to_neutral_at_board, value: 62 V, step: inducer_start}", "{point: neutral_to_chassis_at_board, value: 58 V, step: inducer_start}"),
        "power_supply:loose_neutral", "power_supply:low_line",
    ),
    (
        ("{point: line_to_neutral_at_board, value: 62 V, step: inducer_start}", "{point: line_to_chassis_at_board, value: 62 V, step: inducer_start}"),
        "power_supply:hot_joint_burnt", "power_supply:loose_neutral",
    ),
    # with the power off the inducer stands: a contact that is closed then is stuck
    (("{sign: pressure_switch_contact, value: closed, step: power_off}",), "pressure_switch:will_not_open", "pressure_switch:will_not_close"),
    # only a thermostat behind the switch goes dark with it, and its own cells have nothing to do with a float
    (("{sign: float_switch_is, value: tripped}", "{sign: thermostat_display, value: blank}"), "float_switch:open", "thermostat:batteries_dead"),
    # a hand does what the door did not; a worn contact stays open under it more often than not, and pressed it reads open
    (("{experiment: door_switch_held, value: comes alive}",), "door_switch:not_pressed", "door_switch:will_not_close"),
    (("{sign: door_switch_is, value: not_pressed}",), "door_switch:not_pressed", "door_switch:will_not_close"),
    (("{point: door_switch_ohms, value: OL}",), "door_switch:will_not_close", "door_switch:not_pressed"),
    # a short behind a relay draws nothing until it closes: whoever resets the breaker, or puts a fuse in, sees the call go on up to then
    (("{sign: inducer_runs, value: yes, step: inducer_start}", "{sign: breaker_position, value: tripped}"), "igniter:grounded", "power_supply:breaker_tripped"),
    (("{sign: inducer_runs, value: yes, step: pre_purge}", "{sign: breaker_position, value: tripped}"), "igniter:grounded", "inducer:grounded"),
    (("{sign: burners_light, value: yes}", "{sign: breaker_position, value: tripped}"), "blower_motor:grounded", "igniter:grounded"),
    (("{sign: igniter_glows, value: yes}", "{sign: fuse_looks, value: blown}"), "gas_harness:chafed", "thermostat_cable:shorted"),
    (("{sign: blower_on_fan_call, value: yes}", "{sign: breaker_position, value: tripped}"), "igniter:shorted", "blower_motor:grounded"),
    # an output that drops out while it is due is the very thing that an output does which fails now and then
    (("{sign: heat_output_drops_out, value: yes}",), "control_board:heat_output_comes_and_goes", "board_plug:heat_contact_open"),
    (("{sign: igniter_output_drops_out, value: yes}",), "control_board:igniter_output_comes_and_goes", "board_plug:igniter_contact_open"),
    (("{sign: inducer_output_drops_out, value: yes}",), "control_board:inducer_output_comes_and_goes", "board_plug:inducer_contact_loose"),
    (("{sign: gas_output_drops_out, value: yes}",), "control_board:gas_output_comes_and_goes", "gas_valve:coil_opens_when_hot"),
    # through a cracked porcelain anything between metal and megohms is read; a film leaves it whole
    (("{point: rod_to_case_ohms, value: 200 ohm}",), "flame_rod:grounded", "flame_rod:filmed"),
    (("{point: rod_to_case_ohms, value: 3 kohm}",), "flame_rod:grounded", "flame_rod:leaks"),
    (("{point: rod_to_case_ohms, value: 400 kohm}",), "flame_rod:leaks", "flame_rod:grounded"),
    # a plug that is burnt nearly through loses nearly all of the line before the igniter, and a spade so before the motor
    (
        ("{point: igniter_pin_to_neutral, value: 120 V, step: igniter_warm_up}", "{point: igniter_volts_at_plug, value: 8 V, step: igniter_warm_up}"),
        "igniter_harness:resistive", "igniter:aged",
    ),
    (
        ("{point: heat_terminal_to_neutral, value: 118 V, step: heating}", "{point: heat_spade_to_neutral, value: 15 V, step: heating}"),
        "board_plug:heat_contact_resistive", "control_board:heat_joint_poor",
    ),
    # below the plate's least, and well above nothing
    (("{point: inlet_pressure, value: 3.0, step: ignition_trial}",), "gas_supply:low", "gas_supply:shut"),
    # good at rest and low while it burns is a pipe, a meter or a regulator that lets too little through; low at rest is no such thing
    (
        ("{point: inlet_pressure, value: 6.9, step: standby}", "{point: inlet_pressure, value: 2.3, step: ignition_trial, hold: min}"),
        "gas_supply:falls_under_flow", "gas_supply:low",
    ),
    (("{point: inlet_pressure, value: 2.2, step: standby}",), "gas_supply:low", "gas_supply:falls_under_flow"),
    # the wire that comes back from the safety string, told from the plug by its crimp and from the switches by the far side of the last one
    (
        ("{point: rollout_out_to_c, value: 25.4, step: standby}", "{point: limit_return_crimp_to_c, value: 0.1, step: standby, meter: low}"),
        "wiring_harness:string_return_open", "board_plug:limit_contact_open",
    ),
    (
        ("{point: rollout_out_to_c, value: 25.4, step: standby}", "{point: limit_return_crimp_to_c, value: 25.4, step: standby}"),
        "board_plug:limit_contact_open", "wiring_harness:string_return_open",
    ),
    # a splice so green that it hardly feeds an input: good behind the last switch and a few volts at the board's crimp
    (
        ("{point: rollout_out_to_c, value: 25.8, step: call}", "{point: limit_return_crimp_to_c, value: 6.9, step: call, meter: low}"),
        "wiring_harness:string_return_poor", "board_plug:limit_contact_resistive",
    ),
    # volts lost over a switch that is closed, with the loads on, are lost in the switch
    (
        ("{point: across_service_switch, value: 24 V, step: heating}", "{point: line_to_neutral_at_board, value: 95 V, step: heating}"),
        "power_supply:switch_burnt", "power_supply:hot_joint_burnt",
    ),
    # a thermostat that closes and still loses volts; one that does not close has all of them across it
    (
        ("{point: across_thermostat_heat_contact, value: 10 V, step: call}", "{point: w_to_c_at_board, value: 15 V, step: call}"),
        "thermostat:heat_contact_poor", "thermostat:no_call",
    ),
    (("{point: across_thermostat_heat_contact, value: 25.6 V, step: call}",), "thermostat:no_call", "thermostat:heat_contact_poor"),
    # volts on the igniter's neutral while it glows dull: the joint is behind it, and not in the wire that feeds it
    (
        ("{point: igniter_hot_to_chassis, value: 119 V, step: igniter_warm_up}", "{point: igniter_neutral_to_chassis, value: 38 V, step: igniter_warm_up}"),
        "igniter_harness:neutral_poor", "igniter_harness:resistive",
    ),
    # whole to the eye, and kilo-ohms on the meter
    (
        ("{sign: fuse_looks, value: good}", "{point: across_fuse, value: 25 V, step: standby}", "{point: fuse_ohms, value: 3.8 kohm}"),
        "low_voltage_fuse:cracked", "low_voltage_fuse:blown",
    ),
    # some controls run nothing while a safety is open
    (("{sign: reset_buttons, value: popped}", "{sign: call_is_answered, value: no}"), "rollout_switch:tripped", "thermostat:no_call"),
    # a draft that just reaches the set point takes long over it; one that is far beyond it does not, and one that stays below never gets there
    (("{point: seconds_to_draft, value: 70 s}",), "pressure_switch:drifted", "pressure_switch:drops_out_at_times"),
    (("{point: seconds_to_draft, value: 70 s}",), "vent:partly_blocked", "pressure_hose:off_or_cracked"),
    (("{point: seconds_to_draft, value: 2 s}",), "pressure_switch:drops_out_at_times", "inducer:slow"),
    # dry bearings are felt by hand; a switch that has drifted leaves the wheel as it was
    (("{sign: inducer_turns_freely, value: stiff}",), "inducer:slow", "pressure_switch:drifted"),
    (("{sign: inducer_turns_freely, value: stiff}",), "inducer:seized", "inducer:winding_open"),
    # rubbing the rod puts it back into no flame, and who took it out to clean it may have put it back crooked
    (("{history: flame_rod, value: cleaned_no_change}",), "flame_rod:out_of_flame", "flame_rod:filmed"),
    (("{event: recent_service}",), "flame_rod:out_of_flame", "flame_rod:filmed"),
    # a door that only just presses its switch lets go as the furnace shakes; leaning on it brings all back
    (("{sign: fault_comes_and_goes, value: yes}",), "door_switch:barely_pressed", "door_switch:not_pressed"),
    (
        ("{sign: whole_furnace, value: does_something}", "{experiment: door_switch_held, value: comes alive}"),
        "door_switch:barely_pressed", "low_voltage_fuse:blown",
    ),
    # what answers where it is moved is loose there
    (("{experiment: wire_moved_changes_it, value: rod wire}",), "flame_wire:loose", "flame_rod:filmed"),
    (("{experiment: wire_moved_changes_it, value: igniter plug}",), "igniter_harness:resistive", "igniter:open"),
    (("{experiment: wire_moved_changes_it, value: none}",), "flame_rod:filmed", "flame_wire:loose"),
    (("{sign: wiring_melted, value: yes}",), "igniter_harness:resistive", "igniter:open"),
    (("{sign: igniter_plug_looks, value: melted}",), "igniter_harness:resistive", "board_plug:igniter_contact_open"),
    # the blower door is off for a filter, and somebody by the furnace leans on its switch
    (("{history: filter, value: new part}",), "door_switch:not_pressed", "transformer:primary_open"),
    (("{event: painters}",), "power_supply:switched_off", "transformer:primary_open"),
    # a limit does its work when it opens hot; open on a cold furnace it has failed
    (("{sign: limit_when_cold, value: open}",), "limit_switch:will_not_close", "filter:blocked"),
    (("{sign: rollout_when_cold, value: open}",), "rollout_switch:tripped", "vent:blocked"),
    (("{sign: lives_again_after_rest, value: yes}",), "blower_motor:overload_open_hot", "blower_motor:winding_open"),
    # a motor that runs on a cord is no bad motor
    (("{sign: blower_fed_directly, value: runs}",), "control_board:heat_relay_will_not_close", "blower_motor:winding_open"),
    (("{sign: inducer_fed_directly, value: runs}",), "control_board:inducer_relay_will_not_close", "inducer:winding_open"),
    # a gust takes the draft and gives it back within the call; a split hose never gives it back
    (("{sign: pressure_switch_chatters, value: yes}",), "vent:downdraft", "pressure_hose:off_or_cracked"),
    # a hose that is squeezed passes no draft on, whatever squeezed it
    (("{sign: pressure_hose_looks, value: kinked}",), "pressure_hose:off_or_cracked", "vent:blocked"),
    # a motor without its winding stands still without a sound, and nobody hears that it was switched on; one that is stuck hums
    (("{sign: stops_at, value: call}",), "inducer:winding_open", "inducer:seized"),
    (("{sign: whole_furnace, value: light only}",), "inducer:winding_open", "inducer:seized"),
    (("{sign: whole_furnace, value: light only}",), "thermostat:no_call", "low_voltage_fuse:blown"),
    # a wheel that slips leaves the motor its speed: it runs and sounds as it does, or races, and draws little; dry bearings slow it
    (("{sign: inducer_runs, value: yes, step: inducer_start}", "{sign: inducer_noise, value: noisy}"), "inducer:wheel_loose", "inducer:slow"),
    (("{sign: inducer_runs, value: slow, step: inducer_start}",), "inducer:slow", "inducer:wheel_loose"),
    # open only while it is hot: cold it reads good, where a broken one reads OL
    (("{point: igniter_ohms, value: 60 ohm}", "{sign: igniter_glows, value: no, step: igniter_warm_up}"), "igniter:opens_when_hot", "igniter:open"),
    (("{point: inducer_winding_ohms, value: OL}",), "inducer:winding_open", "inducer:stops_when_warm"),
    (("{point: gas_valve_coil_ohms, value: OL}",), "gas_valve:coil_open", "gas_valve:coil_opens_when_hot"),
    # what goes on for ever with nothing called is fed on W, or the valve passes; a call that is missing is neither
    (("{sign: heat_never_stops, value: yes}",), "thermostat:heat_contact_stuck", "thermostat:no_call"),
    (("{sign: heat_never_stops, value: yes}",), "thermostat_cable:r_w_joined", "thermostat_cable:shorted"),
    (("{sign: heat_never_stops, value: yes}",), "gas_valve:will_not_shut", "gas_valve:coil_open"),
    # the thermostat off its base opens its own contact and no joint in the cable
    (("{sign: call_ends_with_thermostat_off_base, value: yes}",), "thermostat:heat_contact_stuck", "thermostat_cable:r_w_joined"),
    (("{point: thermostat_cable_r_to_w_ohms, value: 0.5 ohm}",), "thermostat_cable:r_w_joined", "thermostat:heat_contact_stuck"),
    (("{point: thermostat_cable_r_to_g_ohms, value: 0.5 ohm}",), "thermostat_cable:r_g_joined", "other_control:feeds_g"),
    (
        ("{sign: call_ends_with_thermostat_off_base, value: no}", "{sign: blower_always_on, value: yes}"),
        "thermostat_cable:r_g_joined", "thermostat:fan_contact_stuck",
    ),
    # the neutral of the circuit itself, open before the furnace: its end in the furnace is as live as the hot wire
    (
        ("{point: neutral_to_chassis_at_junction_box, value: 118 V, step: call}", "{sign: whole_furnace, value: dead}"),
        "power_supply:neutral_open", "power_supply:switched_off",
    ),
    (
        ("{point: line_to_neutral_at_junction_box, value: 120 V, step: call}", "{sign: whole_furnace, value: dead}"),
        "wiring_harness:neutral_open", "power_supply:neutral_open",
    ),
    # that all stops with the wires off is told of what ran without a call, and by nobody else
    (("{experiment: goes_on_with_thermostat_wires_off, value: nothing}",), "other_control:feeds_g", "igniter:open"),
    # with every field wire off, or each of them clear, the short is inside the furnace
    (("{experiment: lead_that_blows_fuse, value: with_all_off}",), "wiring_harness:low_voltage_chafed", "thermostat_cable:shorted"),
    (("{sign: fuse_looks, value: blown}", "{sign: field_wires_are, value: clear}"), "low_voltage_fuse:blown", "thermostat_cable:shorted"),
    # 2.7 A is more than 40 VA over 24 V, and what is hung on R and C goes with their wires: Ohm's law
    (("{point: secondary_amps, value: 2.7 A, step: call}",), "other_control:overloads", "transformer:weak"),
    (("{point: r_to_c_at_board, value: 19, step: call}", "{experiment: starts_with_thermostat_wires_off, value: yes}"),
     "other_control:overloads", "transformer:primary_open"),
    # gas that flows before the igniter is hot lights with a bang, and a flame that is not seen is shut off though it burns: common practice, no source
    (("{sign: bang_at_light_off, value: yes}",), "control_board:gas_relay_will_not_open", "control_board:gas_relay_will_not_close"),
    (("{sign: gas_output_drops_out, value: yes}",), "control_board:flame_circuit_dead", "control_board:no_logic"),
    # a flame that goes out within seconds leaves no time for the blower, and some say that it does not start
    (("{sign: burners_light, value: drop_out}", "{sign: blower_starts_in_heat, value: does_not_start}"), "flame_rod:filmed", "blower_motor:winding_open"),
    # Ohm's law: 24 V over less than 4 ohm is more than the fuse carries, and with its cable off the coil reads by itself
    (("{point: contactor_coil_ohms, value: 1.3 ohm, step: power_off}",), "outdoor_circuit:coil_shorted", "outdoor_circuit:shorted"),
    (("{point: outdoor_cable_ohms, value: OL, step: power_off}",), "outdoor_circuit:coil_shorted", "outdoor_circuit:shorted"),
    (("{sign: field_wires_are, value: shorted}",), "outdoor_circuit:shorted", "low_voltage_fuse:blown"),
    # a board that runs once it was taken off and put back has its contacts renewed, and nothing else
    (("{history: control_board, value: refitted_and_cured}",), "board_plug:heat_contact_open", "control_board:heat_relay_will_not_close"),
    # a new breaker changes nothing in a joint, a ground or a polarity
    (("{history: breaker, value: replaced_no_change}",), "power_supply:loose_neutral", "power_supply:breaker_worn"),
    (("{history: breaker, value: replaced_no_change}",), "power_supply:no_ground", "power_supply:breaker_worn"),
    # a cock that is shut stays shut
    (("{sign: fault_comes_and_goes, value: yes}",), "burners:dirty", "gas_supply:shut"),
    # the panel holds its volts while the box sags: a joint on the way, and no low line
    (
        ("{point: panel_feed_to_neutral, value: 121, step: heating}", "{point: line_to_neutral_at_junction_box, value: 84, step: heating}"),
        "power_supply:loose_neutral", "power_supply:low_line",
    ),
    # the cabinet off earth is the ground's; the neutral bar off ground the bond's
    (
        ("{point: line_to_chassis_at_board, value: 47, step: standby}", "{point: chassis_to_earth, value: 60, step: standby}"),
        "power_supply:no_ground", "power_supply:no_neutral_bond",
    ),
    (("{point: panel_neutral_to_ground, value: 55, step: standby}",), "power_supply:no_neutral_bond", "power_supply:no_ground"),
    # the call is watched up to where it trips, and a wire on the board starts it as the thermostat does
    (("{experiment: starts_when_joined_at_board, value: yes}", "{sign: fuse_looks, value: blown}"), "outdoor_circuit:shorted", "thermostat_cable:shorted"),
    # an inducer that started was not seized: its control gives up when the pressure switch does not close
    (("{sign: inducer_runs, value: starts then stops}",), "pressure_switch:will_not_close", "inducer:seized"),
    # a mouth draws more than any set point: what stays open then is broken, and what closes so is moved by too little draft
    (("{experiment: pressure_switch_when_sucked, value: stays_open}",), "pressure_switch:will_not_close", "vent:blocked"),
    (("{experiment: pressure_switch_when_sucked, value: closes}",), "vent:blocked", "pressure_switch:will_not_close"),
    (("{experiment: pressure_switch_when_sucked, value: closes}",), "pressure_switch:drifted", "pressure_switch:will_not_close"),
    # a wire in the ground's place gives the flame current its way back; a film on the rod is still there
    (("{experiment: flame_holds_with_burner_joined_to_ground, value: holds}",), "burner_ground:wire_off", "flame_rod:filmed"),
    (("{experiment: flame_holds_with_burner_joined_to_ground, value: goes out}",), "flame_rod:filmed", "burner_ground:poor"),
    # a tap frees a wheel that is stuck and closes a plug that is loose there; it closes no winding
    (("{experiment: inducer_tapped_helps, value: starts}",), "inducer:seized", "inducer:winding_open"),
    (("{experiment: inducer_tapped_helps, value: starts}",), "inducer_harness:loose", "inducer_harness:open"),
    # what is fed and stands, or drags, gets hot; a winding that is open takes no current
    (("{sign: inducer_motor_hot, value: hot to the touch}",), "inducer:stops_when_warm", "inducer:winding_open"),
    (("{sign: inducer_motor_hot, value: hot to the touch}",), "inducer:seized", "pressure_switch:will_not_close"),
    # stiff grease gives way as it warms; what opens warm does the opposite
    (("{sign: fault_only_from_cold, value: yes}",), "inducer:slow", "inducer:stops_when_warm"),
    (("{sign: fault_only_from_cold, value: yes}",), "blower_motor:bearings_tight", "blower_motor:overload_open_hot"),
    (("{sign: fault_only_from_cold, value: yes}",), "pressure_hose:wet", "igniter:opens_when_hot"),
    # it blows on its own call, so motor, capacitor and line are good and the heat speed is not
    (
        ("{sign: blower_on_fan_call, value: yes}", "{sign: blower_runs, value: no, step: heating}"),
        "control_board:heat_relay_will_not_close", "blower_motor:seized",
    ),
    # a wheel that runs backwards was set going so by somebody; one that slips turns with its shaft or not at all
    (("{sign: wheel_turns_the_right_way, value: no}",), "blower_motor:turns_backwards", "blower_wheel:loose"),
    (("{event: blower_taken_out}",), "blower_motor:turns_backwards", "blower_motor:bearings_tight"),
    # a switch off the truck: its mark tells, and whoever changes one may fit another; one that drifted is replaced by a good one
    (("{sign: pressure_switch_rating, value: wrong one}",), "pressure_switch:of_another_rating", "pressure_switch:drifted"),
    (("{history: pressure_switch, value: replaced_no_change}",), "pressure_switch:of_another_rating", "pressure_switch:drifted"),
    (("{sign: rapid_clicking, value: yes}",), "thermostat_cable:w_poor", "thermostat_cable:w_open"),
    (("{event: damp_or_humidifier}",), "thermostat_cable:w_poor", "thermostat_cable:w_open"),
    # a wheel put in the wrong way round on a shaft that turns as it should
    (("{sign: wheel_turns_the_right_way, value: yes}", "{sign: wheel_cups_face, value: backwards}"), "blower_wheel:put_in_backwards", "blower_wheel:packed"),
    (("{event: blower_taken_out}",), "blower_wheel:put_in_backwards", "blower_motor:bearings_tight"),
    # a second filter is looked for beside the one at the furnace; that one is clean and its air does not come back with it out
    (("{sign: second_filter, value: plugged}",), "filter:second_one_blocked", "ducts:registers_shut"),
    (("{sign: filter_looks, value: clean}",), "filter:second_one_blocked", "filter:blocked"),
    (("{experiment: air_with_filter_out, value: stays_weak}",), "filter:second_one_blocked", "filter:blocked"),
    # whoever pushes a wheel pushes one that stands
    (("{experiment: blower_starts_when_spun, value: yes}",), "blower_capacitor:weak", "filter:blocked"),
    # a lead that is open carries a few volts of its neighbours
    (("{point: pressure_switch_out_to_c, value: 3 V, step: inducer_start}",), "pressure_hose:wet", "igniter:open"),
    (("{sign: spare_speed_leads, value: two_together}",), "blower_wiring:spare_leads_joined", "blower_motor:turns_shorted"),
    (("{sign: spare_speed_leads, value: parked_or_capped_singly}",), "blower_motor:turns_shorted", "blower_wiring:spare_leads_joined"),
    # a fan that is on takes the draft of a house without air; a nest keeps it away with every fan off
    (("{sign: draft_with_fans_on, value: is_lost}",), "house_air:fans_pull", "pressure_switch:will_not_close"),
    (("{sign: fault_goes_with_fans, value: yes}",), "house_air:fans_pull", "vent:downdraft"),
    (("{sign: fault_goes_with_wind, value: yes}",), "vent:downdraft", "house_air:fans_pull"),
    (("{event: fans_running}",), "house_air:fans_pull", "vent:downdraft"),
    (("{event: house_tightened}",), "house_air:fans_pull", "vent:blocked"),
    (("{sign: draft_with_fans_on, value: holds}",), "vent:downdraft", "house_air:fans_pull"),
    (("{sign: combustion_air_closed, value: yes}",), "house_air:starved", "house_air:fans_pull"),
    (("{sign: flame_waves_with_blower, value: yes}",), "ducts:return_leaks", "house_air:fans_pull"),
    # what stands between thermostat and furnace is what was put there; the cable lay there before
    (("{event: other_controls_added}",), "other_control:passes_no_call", "thermostat_cable:w_open"),
    # the board's own metal, and what sits on it
    (("{point: across_neutral_posts, value: 117 V, step: inducer_start}",), "control_board:neutral_joint_open", "board_plug:neutral_contact_open"),
    (("{point: load_neutral_to_post, value: 117 V, step: inducer_start}",), "board_plug:neutral_contact_open", "control_board:neutral_joint_open"),
    (("{sign: board_scorched, value: yes}",), "control_board:neutral_joint_open", "board_plug:neutral_contact_open"),
    (("{point: neutral_crimp_to_post, value: 11 V, step: heating}",), "board_plug:supply_neutral_contact_resistive", "power_supply:loose_neutral"),
    (("{point: w_conductor_ohms, value: 2300 ohm}",), "thermostat_cable:w_poor", "thermostat_cable:w_open"),
    (("{point: rod_wire_to_case_ohms, value: 40 ohm}",), "flame_wire:chafed", "flame_wire:open"),
    (("{sign: wire_chewed, value: yes}",), "flame_wire:chafed", "flame_rod:filmed"),
]


@pytest.mark.parametrize(("records", "likelier", "less"), SET_APART)
def test_what_is_told_sets_apart(evidence: Evidence, records: tuple[str, ...], likelier: str, less: str) -> None:
    gain = gains(evidence, *records)

    assert gain[likelier] > AT_LEAST * gain[less]


# (records, what leads, the share of belief it has at least)
LEADS: list[tuple[tuple[str, ...], str, float]] = [
    # a furnace that came alive under a hand on its door switch: hardly anything else does that, so it is likelier than all the rest together
    (("{sign: whole_furnace, value: dead}", "{experiment: door_switch_held, value: comes alive}", "{sign: breaker_position, value: on}"), "door_switch", 0.5),
    # a control that has its light and switches nothing on is not called; common practice, no source
    (("{sign: whole_furnace, value: nothing happens}", "{sign: light, value: steady, step: call}"), "thermostat", 0.0),
    # half the line lost in the neutral
    (
        ("{point: line_to_neutral_at_board, value: 62, step: inducer_start}", "{point: neutral_to_chassis_at_board, value: 58, step: inducer_start}"),
        "power_supply", 0.0,
    ),
    # the same at the junction box: what the neutral there has against the cabinet is what is missing between hot and neutral, and the hot is whole
    (
        (
            "{point: line_to_neutral_at_junction_box, value: 74, step: inducer_start}",
            "{point: neutral_to_chassis_at_junction_box, value: 46, step: inducer_start}",
            "{point: line_to_chassis_at_junction_box, value: 121, step: inducer_start}",
        ),
        "power_supply", 0.5,
    ),
    # what a terminal has and its spade has not is lost between them, by Kirchhoff's voltage law, whatever else keeps a motor from running
    (
        (
            "{point: heat_terminal_to_neutral, value: 119 V, step: heating, meter: low}",
            "{point: heat_spade_to_neutral, value: 12 V, step: heating, meter: low}",
            "{sign: blower_runs, value: no, step: heating}",
        ),
        "board_plug", 0.0,
    ),
    # what is lost under load is lost, whatever an ohmmeter says of the contact without it
    (
        (
            "{point: across_door_switch, value: 31.6, step: igniter_warm_up}", "{point: line_to_neutral_at_junction_box, value: 120, step: igniter_warm_up}",
            "{point: line_to_neutral_at_board, value: 88, step: igniter_warm_up}", "{point: door_switch_ohms, value: 0.4 ohm}",
        ),
        "door_switch", 0.0,
    ),
]


@pytest.mark.parametrize(("records", "part", "least"), LEADS)
def test_a_part_leads_before_every_other(evidence: Evidence, records: tuple[str, ...], part: str, least: float) -> None:
    gain = gains(evidence, *records)
    belief: Counter[str] = Counter()
    for fault, prior in zip(evidence.population.faults, evidence.family.prior, strict=True):
        belief[fault.part] += gain[str(fault)] * prior
    (first, most), (_, second) = belief.most_common(2)

    assert first == part
    assert most > max(AT_LEAST * second, least)


def test_a_film_that_the_eye_misses_is_still_thought_of(evidence: Evidence) -> None:
    """Glassy films can hardly be seen, common practice: a rod that looks clean is filmed less likely than before, and far likelier than by a bare slip."""
    clean = ("{sign: flame_rod_looks, value: clean}",)
    told, without = gains(evidence, *clean), gains(evidence)
    before = {f: told[f] / without[f] for f in told}
    spared = before["flame_rod:filmed"] / before["burner_ground:poor"]

    assert evidence.words.slip["seen"] < spared < 1 / AT_LEAST


def test_whether_it_heats_is_seen_unless_it_was_told(evidence: Evidence) -> None:
    def slip(more: str) -> float:
        text = f"records: [{{sign: heat_on_call, value: none{more}}}]"
        (record,) = understand(parse_yaml(text, "report.yaml"), evidence.knowledge, evidence.vocabulary).records
        fact = evidence.fact(record)
        assert fact is not None
        return fact.slip

    assert slip("") == evidence.words.slip["seen"] < slip(", source: told")


def test_a_failure_that_needs_an_option_is_on_furnaces_that_have_it(evidence: Evidence) -> None:
    """By its own description: no float switch opens where none is fitted."""
    options = evidence.family.furnace.options
    for i, fault in enumerate(evidence.population.faults):
        for option, value in evidence.family.failure(fault).only_when.items():
            rows = evidence.population.fault_of == i
            assert {list(options[option].values)[n] for n in evidence.population.options[option][rows]} == {value}


def test_whatever_comes_and_goes_is_met_where_the_fault_does(evidence: Evidence) -> None:
    """By its own description: a failure with a share of the calls is told to come and go at least as readily as one that is there in each."""
    habit = evidence.habits(evidence.knowledge.sign["fault_comes_and_goes"], "yes")
    comes = [evidence.family.failure(f).comes_and_goes is not None for f in evidence.population.faults]
    less = [str(f) for f, c, h in zip(evidence.population.faults, comes, habit, strict=True) if c and h < evidence.words.goes["usually"]]

    assert less == []
